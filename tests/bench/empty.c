/* The yardstick: a program that does nothing, linked to the same libraries. */
int main(void)
{
	return 0;
}
