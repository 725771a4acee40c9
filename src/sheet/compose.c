#include "sheet/compose.h"

#include <string.h>

#include "portmuster/text.h"

#define MOST_MARKS 8u   /* on one letter; a text with more is the same as itself alone */

/* A mark, its combining class, and what it makes of letters: each letter with what
 * becomes of it. From the canonical decompositions of the Unicode character
 * database (UnicodeData.txt 14.0), which UAX #15 promises never to change. */
static const struct {
	uint16_t mark;
	unsigned char class;
	const char *pairs;
} marks[] = {
	{ 0x0300, 230, "AÀEÈIÌOÒUÙaàeèiìoòuùÜǛüǜNǸnǹЕЀИЍеѐиѝĒḔēḕŌṐōṑWẀwẁÂẦâầĂẰăằÊỀêềÔỒôồƠỜơờƯỪưừYỲyỳ" },
	{ 0x0301, 230, "AÁEÉIÍOÓUÚYÝaáeéiíoóuúyýCĆcćLĹlĺNŃnńRŔrŕSŚsśZŹzźÜǗüǘGǴgǵÅǺåǻÆǼæǽØǾøǿ¨΅ΑΆΕΈΗΉΙΊΟΌΥΎΩΏ"
	  "ϊΐαάεέηήιίϋΰοόυύωώϒϓГЃКЌгѓкќÇḈçḉĒḖēḗÏḮïḯKḰkḱMḾmḿÕṌõṍŌṒōṓPṔpṕŨṸũṹWẂwẃÂẤâấĂẮăắÊẾêếÔỐôố"
	  "ƠỚơớƯỨưứ" },
	{ 0x0302, 230, "AÂEÊIÎOÔUÛaâeêiîoôuûCĈcĉGĜgĝHĤhĥJĴjĵSŜsŝWŴwŵYŶyŷZẐzẑẠẬạậẸỆẹệỌỘọộ" },
	{ 0x0303, 230, "AÃNÑOÕaãnñoõIĨiĩUŨuũVṼvṽÂẪâẫĂẴăẵEẼeẽÊỄêễÔỖôỗƠỠơỡƯỮưữYỸyỹ" },
	{ 0x0304, 230, "AĀaāEĒeēIĪiīOŌoōUŪuūÜǕüǖÄǞäǟȦǠȧǡÆǢæǣǪǬǫǭÖȪöȫÕȬõȭȮȰȯȱYȲyȳИӢиӣУӮуӯGḠgḡḶḸḷḹṚṜṛṝ" },
	{ 0x0306, 230, "AĂaăEĔeĕGĞgğIĬiĭOŎoŏUŬuŭУЎИЙийуўЖӁжӂАӐаӑЕӖеӗȨḜȩḝẠẶạặ" },
	{ 0x0307, 230, "CĊcċEĖeėGĠgġIİZŻzżAȦaȧOȮoȯBḂbḃDḊdḋFḞfḟHḢhḣMṀmṁNṄnṅPṖpṗRṘrṙSṠsṡŚṤśṥŠṦšṧṢṨṣṩTṪtṫWẆwẇXẊ"
	  "xẋYẎyẏſẛ" },
	{ 0x0308, 230, "AÄEËIÏOÖUÜaäeëiïoöuüyÿYŸΙΪΥΫιϊυϋϒϔЕЁІЇеёіїАӒаӓӘӚәӛЖӜжӝЗӞзӟИӤиӥОӦоӧӨӪөӫЭӬэӭУӰуӱЧӴчӵЫӸ"
	  "ыӹHḦhḧÕṎõṏŪṺūṻWẄwẅXẌxẍtẗ" },
	{ 0x0309, 230, "AẢaảÂẨâẩĂẲăẳEẺeẻÊỂêểIỈiỉOỎoỏÔỔôổƠỞơởUỦuủƯỬưửYỶyỷ" },
	{ 0x030A, 230, "AÅaåUŮuůwẘyẙ" },
	{ 0x030B, 230, "OŐoőUŰuűУӲуӳ" },
	{ 0x030C, 230, "CČcčDĎdďEĚeěLĽlľNŇnňRŘrřSŠsšTŤtťZŽzžAǍaǎIǏiǐOǑoǒUǓuǔÜǙüǚGǦgǧKǨkǩƷǮʒǯjǰHȞhȟ" },
	{ 0x030F, 230, "AȀaȁEȄeȅIȈiȉOȌoȍRȐrȑUȔuȕѴѶѵѷ" },
	{ 0x0311, 230, "AȂaȃEȆeȇIȊiȋOȎoȏRȒrȓUȖuȗ" },
	{ 0x031B, 216, "OƠoơUƯuư" },
	{ 0x0323, 220, "BḄbḅDḌdḍHḤhḥKḲkḳLḶlḷMṂmṃNṆnṇRṚrṛSṢsṣTṬtṭVṾvṿWẈwẉZẒzẓAẠaạEẸeẹIỊiịOỌoọƠỢơợUỤuụƯỰưựYỴyỵ" },
	{ 0x0324, 220, "UṲuṳ" },
	{ 0x0325, 220, "AḀaḁ" },
	{ 0x0326, 220, "SȘsșTȚtț" },
	{ 0x0327, 202, "CÇcçGĢgģKĶkķLĻlļNŅnņRŖrŗSŞsşTŢtţEȨeȩDḐdḑHḨhḩ" },
	{ 0x0328, 202, "AĄaąEĘeęIĮiįUŲuųOǪoǫ" },
	{ 0x032D, 220, "DḒdḓEḘeḙLḼlḽNṊnṋTṰtṱUṶuṷ" },
	{ 0x032E, 220, "HḪhḫ" },
	{ 0x0330, 220, "EḚeḛIḬiḭUṴuṵ" },
	{ 0x0331, 220, "BḆbḇDḎdḏKḴkḵLḺlḻNṈnṉRṞrṟTṮtṯZẔzẕhẖ" },
	{ 0x3099, 8, "かがきぎくぐけげこごさざしじすずせぜそぞただちぢつづてでとどはばひびふぶへべほぼうゔゝゞカガキギクグケゲコゴサザシジスズセゼソゾタダチヂツヅテデトドハバヒビフブヘベホボ"
	  "ウヴワヷヰヸヱヹヲヺヽヾ" },
	{ 0x309A, 8, "はぱひぴふぷへぺほぽハパヒピフプヘペホポ" },
};

#define MARKS (sizeof marks / sizeof *marks)

/* A character at `*text`; a byte that is not UTF-8 counts as itself, beyond every character. */
static uint32_t next(const char **text)
{
	uint32_t point;
	size_t used = pm_utf8_next(*text, strnlen(*text, 4), &point);
	if (point == UINT32_MAX)
		point = 0x110000u + (unsigned char)**text;
	*text += used;
	return point;
}

static unsigned class_of(uint32_t point)
{
	for (size_t i = 0; point >= marks[0].mark && i < MARKS; i++)
		if (marks[i].mark == point)
			return marks[i].class;
	return 0;
}

/* The letter in a character, and its mark; false when there is none. */
static bool part_letter(uint32_t point, uint32_t *letter, uint32_t *mark)
{
	for (size_t i = 0; point >= 0x80 && i < MARKS; i++)
		for (const char *at = marks[i].pairs; *at;) {
			*letter = next(&at);
			*mark = marks[i].mark;
			if (next(&at) == point)
				return true;
		}
	return false;
}

/* Hangul syllables are reckoned (The Unicode Standard 3.12): 588 to a leading
 * consonant, 28 to a vowel. */
#define SYLLABLES 0xAC00u
#define SYLLABLE_COUNT 11172u

/* A letter with all its marks in canonical order, or a Hangul syllable. */
struct cluster {
	uint32_t point[MOST_MARKS + 4];
	size_t count;
	bool full;
};

static void add(struct cluster *c, uint32_t point)
{
	size_t at = c->count;
	unsigned class = class_of(point);
	c->full |= c->count == sizeof c->point / sizeof *c->point;
	if (c->full)
		return;
	for (; class && at > 1 && class_of(c->point[at - 1]) > class; at--)
		c->point[at] = c->point[at - 1];
	c->point[at] = point;
	c->count++;
}

static void add_parted(struct cluster *c, uint32_t point)
{
	uint32_t mark[MOST_MARKS], letter;
	size_t count = 0;
	if (point >= SYLLABLES && point < SYLLABLES + SYLLABLE_COUNT) {
		uint32_t index = point - SYLLABLES;
		add(c, 0x1100 + index / 588);
		add(c, 0x1161 + index % 588 / 28);
		if (index % 28)
			add(c, 0x11A7 + index % 28);
		return;
	}
	while (count < MOST_MARKS && part_letter(point, &letter, &mark[count])) {
		point = letter;
		count++;
	}
	add(c, point);
	while (count)
		add(c, mark[--count]);
}

static bool joins(uint32_t point)
{
	return class_of(point) || (point >= 0x1161 && point <= 0x11FF);
}

static void read_cluster(const char **text, struct cluster *c)
{
	c->count = 0;
	c->full = false;
	if (**text)
		add_parted(c, next(text));
	for (const char *at = *text; *at && joins(next(&at)); *text = at) {
		const char *mark = *text;
		add_parted(c, next(&mark));
	}
}

bool compose_same(const char *a, const char *b)
{
	while (*a || *b) {
		struct cluster x, y;
		read_cluster(&a, &x);
		read_cluster(&b, &y);
		if (x.full || y.full || x.count != y.count || memcmp(x.point, y.point, x.count * sizeof *x.point) != 0)
			return false;
	}
	return true;
}

bool compose_mark(uint32_t point)
{
	/* the blocks of combining marks, and of the parts of Hangul syllables that never begin one */
	static const struct { uint32_t first, last; } blocks[] = {
		{ 0x0300, 0x036F }, { 0x1160, 0x11FF }, { 0x1AB0, 0x1AFF }, { 0x1DC0, 0x1DFF }, { 0x20D0, 0x20FF },
		{ 0x3099, 0x309A }, { 0xFE00, 0xFE0F }, { 0xFE20, 0xFE2F },
	};
	for (size_t i = 0; i < sizeof blocks / sizeof *blocks; i++)
		if (point >= blocks[i].first && point <= blocks[i].last)
			return true;
	return false;
}

size_t compose_first(const char *text, uint32_t *point)
{
	for (size_t place = 1; *text; place++) {
		*point = next(&text);
		if (compose_mark(*point))
			return place;
	}
	return 0;
}
