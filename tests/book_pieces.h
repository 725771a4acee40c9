/* book_pieces.h - small workbooks put together in memory, sound ones and others. */
#ifndef TESTS_BOOK_PIECES_H
#define TESTS_BOOK_PIECES_H

#include <stdbool.h>
#include <stdlib.h>
#include <string.h>
#include <zip.h>

#define BOOK_MAIN "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
#define BOOK_REL "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
#define BOOK_PACKAGE "http://schemas.openxmlformats.org/package/2006"
#define BOOK_KIND "application/vnd.openxmlformats-officedocument.spreadsheetml."
#define BOOK_SHEET(inner) "<worksheet xmlns=\"" BOOK_MAIN "\">" inner "</worksheet>"
#define BOOK_TYPES(more) "<Types xmlns=\"" BOOK_PACKAGE "/content-types\">" \
	"<Default Extension=\"xml\" ContentType=\"application/xml\"/>" \
	"<Override PartName=\"/xl/workbook.xml\" ContentType=\"" BOOK_KIND "sheet.main+xml\"/>" more "</Types>"
#define BOOK_RELATION(id, type, target) "<Relationship Id=\"" id "\" Type=\"" BOOK_REL "/" type "\" Target=\"" target "\"/>"
#define BOOK_RELATIONS(inner) "<Relationships xmlns=\"" BOOK_PACKAGE "/relationships\">" inner "</Relationships>"

struct book_piece {
	const char *name, *bytes;
	size_t length;   /* 0: as a string */
};

/* Which pieces a package begins with; a test replaces some of them. */
enum { PIECE_TYPES, PIECE_TOP, PIECE_BOOK, PIECE_RELATIONS, PIECE_SHEET, PIECE_STRINGS, PIECE_STYLES, PIECES, MOST_PIECES = 12 };

static const struct book_piece book_pieces[PIECES] = {
	{ "[Content_Types].xml", BOOK_TYPES(""), 0 },
	{ "_rels/.rels", BOOK_RELATIONS(BOOK_RELATION("a", "officeDocument", "xl/workbook.xml")), 0 },
	{ "xl/workbook.xml", "<workbook xmlns=\"" BOOK_MAIN "\" xmlns:r=\"" BOOK_REL "\"><sheets>"
		"<sheet name=\"Units &amp; sites\" sheetId=\"1\" r:id=\"s1\"/></sheets></workbook>", 0 },
	{ "xl/_rels/workbook.xml.rels", BOOK_RELATIONS(BOOK_RELATION("s1", "worksheet", "worksheets/sheet1.xml")
		BOOK_RELATION("s2", "sharedStrings", "/xl/sharedStrings.xml") BOOK_RELATION("s3", "styles", "./styles.xml")), 0 },
	{ "xl/worksheets/sheet1.xml", BOOK_SHEET("<sheetData/>"), 0 },
	{ "xl/sharedStrings.xml", "<sst xmlns=\"" BOOK_MAIN "\"><si><t>plain</t></si>"
		"<si><r><rPr><b/></rPr><t xml:space=\"preserve\">two </t></r><r><t>runs</t></r><rPh sb=\"0\" eb=\"1\"><t>hint</t></rPh></si>"
		"<si><t>_x0041__x00e9__xD83D__xDCA7__x0000__xD800__x005F_x0042_</t></si><si><t/></si></sst>", 0 },
	{ "xl/styles.xml", "<styleSheet xmlns=\"" BOOK_MAIN "\"><numFmts count=\"3\">"
		"<numFmt numFmtId=\"164\" formatCode=\"yyyy\\-mm\\-dd\"/><numFmt numFmtId=\"165\" formatCode=\"0.0&quot; days&quot;\"/>"
		"<numFmt numFmtId=\"166\" formatCode=\"[h]\"/></numFmts><cellStyleXfs><xf numFmtId=\"14\"/></cellStyleXfs>"
		"<cellXfs><xf numFmtId=\"0\"/><xf numFmtId=\"14\"/><xf numFmtId=\"164\"/><xf numFmtId=\"165\"/><xf numFmtId=\"166\"/>"
		"<xf numFmtId=\"49\"/></cellXfs></styleSheet>", 0 },
};

/* The pieces as a zip archive, to be freed; null when it can't be made. */
static inline char *book_zip(const struct book_piece *pieces, size_t count, size_t *length)
{
	zip_error_t error;
	zip_stat_t about;
	char *bytes = NULL;
	*length = 0;
	zip_source_t *archive = zip_source_buffer_create(NULL, 0, 0, &error);
	if (!archive)
		return NULL;
	zip_source_keep(archive);
	zip_t *zip = zip_open_from_source(archive, ZIP_CREATE | ZIP_TRUNCATE, &error);
	for (size_t i = 0; zip && i < count; i++) {
		const struct book_piece *piece = &pieces[i];
		size_t room = piece->length ? piece->length : strlen(piece->bytes);
		zip_file_add(zip, piece->name, zip_source_buffer(zip, piece->bytes, room, 0), 0);
	}
	if (zip && zip_close(zip) == 0 && zip_source_stat(archive, &about) == 0 && zip_source_open(archive) == 0) {
		bytes = malloc((size_t)about.size + 1);
		if (bytes && zip_source_read(archive, bytes, about.size) != (zip_int64_t)about.size) {
			free(bytes);
			bytes = NULL;
		}
		*length = (size_t)about.size;
		zip_source_close(archive);
	}
	zip_source_free(archive);
	return bytes;
}

/* A package whose one page has these bytes. */
static inline char *book_with_sheet(const char *sheet, size_t room, size_t *length)
{
	struct book_piece pieces[PIECES];
	memcpy(pieces, book_pieces, sizeof pieces);
	pieces[PIECE_SHEET].bytes = sheet;
	pieces[PIECE_SHEET].length = room;
	return book_zip(pieces, PIECES, length);
}

#endif
