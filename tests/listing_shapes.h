/* listing_shapes.h - listings of every shape, and what is to be read from them. */
#ifndef TESTS_LISTING_SHAPES_H
#define TESTS_LISTING_SHAPES_H

/* --- the table -------------------------------------------------------------------- */

enum { NO_GEAR = 1, WITH_GEAR = 2, EITHER = 3 };

struct shape {
	const char *what;
	int gear;
	const char *log, *expected;
};

static const struct shape shapes[] = {
	/* stanzas */
	{ "stanza", EITHER,
	  "port1 is up\n    hardware address 00-00-5E-00-53-01\n    mtu 1500\nport2 is down\n    hardware address 00-00-5E-00-53-02\n",
	  "2 port1 00-00-5E-00-53-01\n5 port2 00-00-5E-00-53-02\n" },
	{ "stanza, upper case, colons, dotted leader", WITH_GEAR,
	  "PORT1:\n  PHYSICAL ADDRESS . . . . : 00:00:5E:00:53:01\n", "2 port1 00-00-5E-00-53-01\n" },
	{ "stanza, the address not first", EITHER,
	  "port3\n  state: up\n\n  speed: 1000\n  addr = 0000.5e00.5303\n", "5 port3 00-00-5E-00-53-03\n" },
	{ "stanza without indentation", EITHER,
	  "Interface: port4\nState: up\nMAC: 00.00.5e.00.53.04\n\nInterface: port5\nMAC: 0:0:5e:0:53:5\n",
	  "3 port4 00-00-5E-00-53-04\n6 port5 00-00-5E-00-53-05\n" },
	{ "name in two words", WITH_GEAR, "Port 7 (north)\n   HWaddr 00005E005307\n", "2 port7 00-00-5E-00-53-07\n" },
	{ "name in two words", NO_GEAR, "Port 7 (north)\n   HWaddr 00005E005307\n", "2 Port 7 00-00-5E-00-53-07\n" },
	{ "bare word heads a stanza", EITHER,
	  "mgmt\n  hw addr 00-00-5e-00-53-00\n", "2 mgmt 00-00-5E-00-53-00\n" },
	{ "nested below a title", EITHER,
	  "interfaces\n  port1\n      station address 00-00-5E-00-53-01\n  port2\n      station address 00-00-5E-00-53-02\n",
	  "3 port1 00-00-5E-00-53-01\n5 port2 00-00-5E-00-53-02\n" },
	{ "other addresses in a stanza", EITHER,
	  "port1 up\n  ether 00:00:5e:00:53:01 brd ff:ff:ff:ff:ff:ff\n  peer 00:00:5e:00:53:99\n  gateway 192.0.2.1 00:00:5e:00:53:98\n"
	  "  neighbor\n     address 00:00:5e:00:53:97\n  neighbour: 00:00:5e:00:53:96\n  next hop 00:00:5e:00:53:95\n  learned 00:00:5e:00:53:94\n",
	  "2 port1 00-00-5E-00-53-01\n" },
	{ "keyword beats plain", EITHER,
	  "port1\n   00-00-5E-00-53-77\n   address 00-00-5E-00-53-66\n   hardware address: 00-00-5E-00-53-01\n",
	  "4 port1 00-00-5E-00-53-01\n" },
	{ "two and nothing to choose by", EITHER,
	  "port1\n   00-00-5E-00-53-01\n   00-00-5E-00-53-02\n",
	  "2 port1 00-00-5E-00-53-01\n3 port1 00-00-5E-00-53-02\n"
	  "3:4 another address for port1 than on line 2: 00-00-5E-00-53-02\n" },
	{ "a chassis address belongs to no interface", EITHER,
	  "port1\n   address 00-00-5E-00-53-01\nChassis\n   base address 00-00-5E-00-53-F0\n",
	  "2 port1 00-00-5E-00-53-01\n" },
	{ "a total below a table", EITHER,
	  "port1  00-00-5E-00-53-01  up\nBase address 00-00-5E-00-53-F0\n", "1 port1 00-00-5E-00-53-01\n" },
	{ "an address whose interface was not understood", EITHER,
	  "port1  up\n   address 00-00-5E-00-53-01\np?#~2  up\n   hardware address: 00-00-5E-00-53-02\nport3  up\n   address 00-00-5E-00-53-03\n",
	  "2 port1 00-00-5E-00-53-01\n6 port3 00-00-5E-00-53-03\n"
	  "4:22 an address without an interface: 00-00-5E-00-53-02\n" },
	{ "a paragraph parts an address from its interface", EITHER,
	  "port1  up\n   used for gauges\n\nand for other things too\n\n   address 00-00-5E-00-53-01\n",
	  "6:12 an address without an interface: 00-00-5E-00-53-01\n" },
	/* line breaks that were doubled on the way: the end of a wrapped line parts nothing */
	{ "every line break doubled", EITHER,
	  "> roll\r\n\r\nmgmt  up\r\n\r\n   used for care\r\n\r\n   address 00-00-5E-00-53-00\r\n\r\n\r\n\r\n"
	  "port1  up\r\n\r\n   used for field network, spare; meant for the second float that comes with the \r\n\r\n"
	  "new well\r\n\r\n   address 00-00-5E-00-53-01\r\n\r\n",
	  "7 mgmt 00-00-5E-00-53-00\n17 port1 00-00-5E-00-53-01\n" },
	{ "a carriage return too many", EITHER,
	  "mgmt  up\r\r\n   address 00-00-5E-00-53-00\r\r\nport1  up\r\r\n   address 00-00-5E-00-53-01\r\r\n",
	  "2 mgmt 00-00-5E-00-53-00\n4 port1 00-00-5E-00-53-01\n" },
	/* rows */
	{ "row", EITHER, "port1  up  00-00-5E-00-53-01  1500\nport2  down  00-00-5E-00-53-02  1500\n",
	  "1 port1 00-00-5E-00-53-01\n2 port2 00-00-5E-00-53-02\n" },
	{ "row with a heading", EITHER,
	  "Name   State  Hardware address   Peer\nport1  up     00-00-5E-00-53-01  00-00-5E-00-53-99\nport2  up     000000000002       000000000099\n",
	  "2 port1 00-00-5E-00-53-01\n3 port2 00-00-00-00-00-02\n" },
	{ "heading, address first", EITHER,
	  "Peer               Address            Interface\n00-00-5E-00-53-99  00-00-5E-00-53-01  port1\n", "" },
	{ "address first", EITHER, "00-00-5E-00-53-01 up port1\n00-00-5E-00-53-02 up port2\n",
	  "1 port1 00-00-5E-00-53-01\n2 port2 00-00-5E-00-53-02\n" },
	{ "framed row", EITHER,
	  "+-------+-------------------+\n| Name  | Address           |\n+-------+-------------------+\n| port1 | 00-00-5E-00-53-01 |\n| mgmt  | 00-00-5E-00-53-00 |\n",
	  "4 port1 00-00-5E-00-53-01\n5 mgmt 00-00-5E-00-53-00\n" },
	{ "running numbers", EITHER, " 1. port1 00-00-5E-00-53-01\n 2. port2 00-00-5E-00-53-02\n",
	  "1 port1 00-00-5E-00-53-01\n2 port2 00-00-5E-00-53-02\n" },
	{ "pairs with equals signs", EITHER, "name=port1 state=up mac=00:00:5e:00:53:01\nport=port2;mac=00-00-5e-00-53-02\n",
	  "1 port1 00-00-5E-00-53-01\n2 port2 00-00-5E-00-53-02\n" },
	{ "tight colons", EITHER, "port1:00-00-5E-00-53-01\nport2:mac:00-00-5E-00-53-02\n",
	  "1 port1 00-00-5E-00-53-01\n2 port2 00-00-5E-00-53-02\n" },
	{ "brackets", EITHER, "port1 (00-00-5E-00-53-01)\nport2 <00:00:5e:00:53:02>\nport3 hwaddr(0000.5e00.5303)\n",
	  "1 port1 00-00-5E-00-53-01\n2 port2 00-00-5E-00-53-02\n3 port3 00-00-5E-00-53-03\n" },
	{ "octets parted by blanks", WITH_GEAR, "port10 00 00 5E 00 53 0A up\nport 11 00 00 5e 00 53 0b\n", "1 port10 00-00-5E-00-53-0A\n2 port11 00-00-5E-00-53-0B\n" },
	{ "typographic dashes", EITHER, "port1 00\xE2\x80\x91" "00\xE2\x80\x91" "5E\xE2\x80\x91" "00\xE2\x80\x91" "53\xE2\x80\x91" "01\n",
	  "1 port1 00-00-5E-00-53-01\n" },
	{ "tabs", EITHER, "port1\tup\t00-00-5E-00-53-01\n", "1 port1 00-00-5E-00-53-01\n" },
	{ "two rows beside each other", EITHER, "port1 00-00-5E-00-53-01   port2 00-00-5E-00-53-02\n",
	  "1 port1 00-00-5E-00-53-01\n1 port2 00-00-5E-00-53-02\n" },
	{ "bare word heads a row", EITHER, "mgmt   up   00-00-5E-00-53-00\n", "1 mgmt 00-00-5E-00-53-00\n" },
	{ "names of other shapes", NO_GEAR,
	  "lan0/3  00-00-5E-00-53-01\ne1.2  00-00-5E-00-53-02\nuplink  00-00-5E-00-53-03\nradio-a  00-00-5E-00-53-04\n",
	  "1 lan0/3 00-00-5E-00-53-01\n2 e1.2 00-00-5E-00-53-02\n3 uplink 00-00-5E-00-53-03\n4 radio-a 00-00-5E-00-53-04\n" },
	{ "strangers", WITH_GEAR, "port13  00-00-5E-00-53-0D\nlan0/1 is up\n   hardware address 00-00-5E-00-53-0E\n",
	  "1 port13? 00-00-5E-00-53-0D\n3 lan0/1? 00-00-5E-00-53-0E\n" },
	{ "names cut short", WITH_GEAR, "PO07  00-00-5E-00-53-07\nP-8  00-00-5E-00-53-08\n",
	  "1 port7 00-00-5E-00-53-07\n2 port8 00-00-5E-00-53-08\n" },
	{ "numbers under a heading", WITH_GEAR, "Port  State  Address\n7     up     00-00-5E-00-53-07\n",
	  "2 port7 00-00-5E-00-53-07\n" },
	/* what is none */
	{ "prompt with what was typed", EITHER, "eg12> show port1 00-00-5E-00-53-01\neg12# port2 00-00-5E-00-53-02\n[op@eg12] > port3 00-00-5E-00-53-03\n", "" },
	{ "log lines", EITHER,
	  "[  12.3] link up port3\n[   13.25] port3 address 00-00-5E-00-53-03\n12:30:05 port4 00-00-5E-00-53-04\n2026-02-03T04:05:06Z port5 00-00-5E-00-53-05\nFeb  3 04:05:06 port6 00-00-5E-00-53-06\n",
	  "" },
	{ "a log line within a stanza", EITHER,
	  "port1 is up\n[  12.3] link up port3\n   address 00-00-5E-00-53-01\n", "3 port1 00-00-5E-00-53-01\n" },
	{ "counters, times, network addresses, identifiers", EITHER,
	  "port1 up 123456789012 octets\n  since 12:30:05 on 2026-02-03\n  address 192.0.2.1 2001:db8::1 fe80::200:5eff:fe00:5301\n"
	  "  id 5f9c0f1e-1b5e-4c1f-9f0e-00005e005301\n  build 00005e0053ff\n  rx 10 20 30 40 50 60\n  version 10.20.30.40.50.60\n", "" },
	{ "eight octets without a word", EITHER, "port1 00-00-5E-FF-FE-00-53-01\n",
	  "1:7 eight octets: an EUI-64, not an EUI-48: 00-00-5E-FF-FE-00-53-01\n" },
	{ "decimal digits after a word", EITHER, "port1\n  hardware address 000050005301\n", "2 port1 00-00-50-00-53-01\n" },
	{ "learned addresses", EITHER,
	  "port1 00-00-5E-00-53-01\n\nLearned addresses:\nport1  00-00-5E-00-53-77\nport2  00-00-5E-00-53-78\n\nport2 00-00-5E-00-53-02\n",
	  "1 port1 00-00-5E-00-53-01\n7 port2 00-00-5E-00-53-02\n" },
	{ "seen on a port", EITHER, "00-00-5E-00-53-77 learned on port3\n00-00-5E-00-53-78 dynamic port4\n00-00-5E-00-53-79 via port5\n", "" },
	{ "an address without an interface", EITHER, "Base address 00-00-5E-00-53-F0\nsystem mac: 00-00-5E-00-53-F1\n", "" },
	{ "no address", EITHER, "port1  down  -\nport2\n   hardware address: none\nport3\n  mac: n/a\n", "" },
	/* malformed */
	{ "a wrong character", EITHER, "port1\n   address 00-00-5E-00-53-0G\n", 
	  "2:28 a letter that is no hex digit but looks like one: 00-00-5E-00-53-0G\n" },
	{ "five octets", EITHER, "port1\n   hardware address 00-00-5E-00-53\n", 
	  "2:35 digits are missing: an address has 12: 00-00-5E-00-53\n" },
	{ "letters for digits, in a row", EITHER, "port1  up  OO-00-5E-00-53-01\nport2  up  00-00-5E-O0-53-02  1500\n", 
	  "1:12 a letter that is no hex digit but looks like one: OO-00-5E-00-53-01\n"
	  "2:21 a letter that is no hex digit but looks like one: 00-00-5E-O0-53-02\n" },
	{ "a three-digit octet", EITHER, "port1 mac 00:00:5e:00:053:01\n", 
	  "1:25 too many digits between separators: 00:00:5e:00:053:01\n" },
	{ "thirteen digits under a heading", EITHER, "Name   Address\nport1  00005E0053011\n", 
	  "2:20 too many digits: an address has 12: 00005E0053011\n" },
	{ "mixed marks", EITHER, "port1 mac 00:00-5e:00-53:01\n", 
	  "1:16 separators of two kinds: 00:00-5e:00-53:01\n" },
	{ "leading zeros here, none there", EITHER, "port1 mac 00:00:5e:00:3:01\nport2 mac 0:0:5e:0:3:1\nport3 mac 10:23:5e:4:53:1\n",
	  "2 port2 00-00-5E-00-03-01\n3 port3 10-23-5E-04-53-01\n1:24 digits are missing: an address has 12: 00:00:5e:00:3:01\n" },
	/* twice */
	{ "the same twice", EITHER, "port1 00-00-5E-00-53-01\nport1 0000.5e00.5301\n", "1 port1 00-00-5E-00-53-01\n" },
	{ "twice and different", EITHER, "port1 00-00-5E-00-53-01\nport1 00-00-5E-00-53-02\n",
	  "1 port1 00-00-5E-00-53-01\n2 port1 00-00-5E-00-53-02\n2:7 another address for port1 than on line 1: 00-00-5E-00-53-02\n" },
	/* serial numbers */
	{ "serial numbers", EITHER, "Serial number: EG12-26-00417\nS/N EG12-26-00418\nserial no. EG1226419\nSerial is 00420\n",
	  "1 serial EG12-26-00417\n2 serial EG12-26-00418\n3 serial EG1226419\n4 serial 00420\n" },
	{ "the gear's word", WITH_GEAR, "unit number   EG12-26-00417\n", "1 serial EG12-26-00417\n" },
	{ "no serial numbers", EITHER,
	  "serial console 9600 baud\nserial 9600 baud\nserial0 is up\nserial number: none\nmodule serial number: X12345\nline serial port 2\n", "" },
	{ "the same serial number twice", EITHER, "Serial number EG12-26-00417\nSerial number EG12-26-00417\n", "1 serial EG12-26-00417\n" },
	/* what a terminal does */
	{ "pager", EITHER, "port1\n--More--(41%)\r   address 00-00-5E-00-53-01\n-- space for the rest --\r                          \rport2\n   address 00-00-5E-00-53-02\n",
	  
	  "2 port1 00-00-5E-00-53-01\n4 port2 00-00-5E-00-53-02\n" },
	{ "overwritten", EITHER, "port1 00-00-5E-00-53-99\rport1 00-00-5E-00-53-01\n", "1 port1 00-00-5E-00-53-01\n" },
	{ "only carriage returns", EITHER, "port1 00-00-5E-00-53-01\rport2 00-00-5E-00-53-02\rport3 00-00-5E-00-53-03\r",
	  "1 port1 00-00-5E-00-53-01\n2 port2 00-00-5E-00-53-02\n3 port3 00-00-5E-00-53-03\n" },
	/* the end */
	{ "cut in an address", EITHER, "port1 00-00-5E-00-53-01\nport2 00-00-5E-00-5",
	  "1 port1 00-00-5E-00-53-01\n2:7 the log ends in the middle of an address: 00-00-5E-00-5\n" },
	{ "cut after two octets", EITHER, "port1\n  hardware address 00-00",
	  "2:20 the log ends in the middle of an address: 00-00\n" },
	{ "cut in the last octet", EITHER, "port1 00:00:5e:00:53:0",
	  "1:7 the log ends in the middle of an address: 00:00:5e:00:53:0\n" },
	{ "not cut", EITHER, "port1 00-00-5E-00-53-01", "1 port1 00-00-5E-00-53-01\n" },
	{ "not cut, no line end, a time", EITHER, "port1 00-00-5E-00-53-01 12:30", "1 port1 00-00-5E-00-53-01\n" },
	{ "empty", EITHER, "", "" },
	{ "hostile text", EITHER, "port1\n  mac 00-00-5E-00-53-\x1b]0;x\x07" "0G\n", 
	  "2:23 a letter that is no hex digit but looks like one: 00-00-5E-00-53-0G\n" },
};

#endif
