"""Makes data/sheets/tavrane-desk.xlsx, the workbook of the invented desk, from its layout beside it:
    /usr/bin/python3 tests/outside/make_desk_book.py FILE.xlsx
The same bytes of every part each time, whatever libraries are installed: the XML is written here, after
ECMA-376 part 1 (18.3 worksheets, 18.8 styles, 18.4 shared strings) and part 2 (packages)."""
import os
import re
import sys
import zipfile
from xml.sax.saxutils import escape, quoteattr

import yaml

ROOT = os.path.dirname(os.path.dirname(os.path.dirname(os.path.abspath(__file__))))
LAYOUT = os.path.join(ROOT, "data", "sheets", "tavrane-desk.yaml")
MAIN = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
DOCUMENT = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
PACKAGE = "http://schemas.openxmlformats.org/package/2006"
KIND = "application/vnd.openxmlformats-officedocument.spreadsheetml."
START = '<?xml version="1.0" encoding="UTF-8" standalone="yes"?>\n'
MADE = (2026, 1, 12, 8, 0, 0)   # of every part, and of the document
LAST = 400                      # the last row that the desk fills

# Styles by their place in the list of cellXfs below.
PLAIN, HEADING, PART, TITLE, ENTRY, NOTE, COUNT, COLUMN = range(8)
STYLES = """<styleSheet xmlns="%s"><fonts count="5"><font><sz val="11"/><name val="sans-serif"/></font>
<font><b/><sz val="14"/><color rgb="FFFFFFFF"/><name val="sans-serif"/></font>
<font><b/><sz val="12"/><name val="sans-serif"/></font><font><b/><sz val="11"/><name val="sans-serif"/></font>
<font><i/><sz val="11"/><color rgb="FF555555"/><name val="sans-serif"/></font></fonts>
<fills count="4"><fill><patternFill patternType="none"/></fill><fill><patternFill patternType="gray125"/></fill>
<fill><patternFill patternType="solid"><fgColor rgb="FF1F4E5F"/></patternFill></fill>
<fill><patternFill patternType="solid"><fgColor rgb="FFDCE9EE"/></patternFill></fill></fills>
<borders count="2"><border><left/><right/><top/><bottom/><diagonal/></border>
<border><left style="thin"/><right style="thin"/><top style="thin"/><bottom style="thin"/><diagonal/></border></borders>
<cellStyleXfs count="1"><xf numFmtId="0" fontId="0" fillId="0" borderId="0"/></cellStyleXfs><cellXfs count="8">
<xf numFmtId="0" fontId="0" fillId="0" borderId="0" xfId="0"/>
<xf numFmtId="0" fontId="1" fillId="2" borderId="0" xfId="0" applyFont="1" applyFill="1" applyAlignment="1"><alignment horizontal="center"/></xf>
<xf numFmtId="0" fontId="2" fillId="0" borderId="0" xfId="0" applyFont="1"/>
<xf numFmtId="0" fontId="3" fillId="3" borderId="1" xfId="0" applyFont="1" applyFill="1" applyBorder="1" applyAlignment="1"><alignment wrapText="1"/></xf>
<xf numFmtId="49" fontId="0" fillId="0" borderId="1" xfId="0" applyNumberFormat="1" applyBorder="1"/>
<xf numFmtId="0" fontId="4" fillId="0" borderId="0" xfId="0" applyFont="1" applyAlignment="1"><alignment wrapText="1" vertical="top"/></xf>
<xf numFmtId="1" fontId="3" fillId="0" borderId="1" xfId="0" applyNumberFormat="1" applyFont="1" applyBorder="1"/>
<xf numFmtId="49" fontId="0" fillId="0" borderId="0" xfId="0" applyNumberFormat="1"/></cellXfs>
<cellStyles count="1"><cellStyle name="Normal" xfId="0" builtinId="0"/></cellStyles></styleSheet>""" % MAIN

INSTRUCTIONS = [
    "One workbook a visit; several stations may stand below each other.",
    "Enter every value as text, as it is printed or shown. Do not change titles, and put no column in.",
    "Hardware addresses as in the example of the desk's layout: six pairs with hyphens on the page Interfaces.",
    "The kind of an attached device is one of the list. Whatever is not on it, ask the desk for.",
    "The column Desk reference is ours. Please leave it empty.",
    "Send the workbook to the desk and keep the seal at hand: we read it back to you over the telephone.",
]
KINDS = ["camera", "gauge", "telephone", "radio", "logger", "siren"]


def letter(column):
    return chr(ord("A") + column)


class Page:
    """Cells by row and column, and what else stands in a worksheet."""
    def __init__(self, name, strings, hidden=False):
        self.name, self.strings, self.hidden = name, strings, hidden
        self.rows, self.merged, self.rules, self.widths, self.frozen = {}, [], [], [], 0

    def put(self, row, column, text=None, style=PLAIN, formula=None):
        name = letter(column) + str(row)
        if formula:
            cell = '<c r="%s" s="%d"><f>%s</f></c>' % (name, style, escape(formula))
        elif text is None:
            cell = '<c r="%s" s="%d"/>' % (name, style)
        else:
            self.strings.setdefault(text, len(self.strings))
            cell = '<c r="%s" s="%d" t="s"><v>%d</v></c>' % (name, style, self.strings[text])
        self.rows.setdefault(row, {})[column] = cell

    def heading(self, row, width, text, style):
        """One text over all columns: the cells under a merged one keep its style."""
        self.put(row, 0, text, style)
        for column in range(1, width):
            self.put(row, column, None, style)
        self.merged.append("A%d:%s%d" % (row, letter(width - 1), row))

    def rule(self, cells, kind, formula, title, words):
        self.rules.append('<dataValidation %s allowBlank="1" showErrorMessage="1" errorStyle="warning" errorTitle=%s error=%s sqref="%s">'
                          '<formula1>%s</formula1></dataValidation>' % (kind, quoteattr(title), quoteattr(words), cells, escape(formula)))

    def xml(self):
        last = max(max(cells) for cells in self.rows.values())
        out = ['<worksheet xmlns="%s"><sheetPr><pageSetUpPr fitToPage="1"/></sheetPr><dimension ref="A1:%s%d"/>' % (MAIN, letter(last), max(self.rows)),
               '<sheetViews><sheetView workbookViewId="0"%s>' % (' tabSelected="1"' if self.name == "Instructions" else "")]
        if self.frozen:
            out.append('<pane ySplit="%d" topLeftCell="A%d" activePane="bottomLeft" state="frozen"/>' % (self.frozen, self.frozen + 1))
        out.append('</sheetView></sheetViews><sheetFormatPr defaultRowHeight="15"/><cols>')
        out += ['<col min="%d" max="%d" width="%d" style="%d" customWidth="1"/>' % (at + 1, at + 1, width, style)
                for at, (width, style) in enumerate(self.widths)]
        out.append("</cols><sheetData>")
        for row, cells in sorted(self.rows.items()):
            out.append('<row r="%d" spans="1:%d">%s</row>' % (row, last + 1, "".join(cells[column] for column in sorted(cells))))
        out.append("</sheetData>")
        if self.merged:
            out.append('<mergeCells count="%d">%s</mergeCells>' % (len(self.merged), "".join('<mergeCell ref="%s"/>' % each for each in self.merged)))
        if self.rules:
            out.append('<dataValidations count="%d">%s</dataValidations>' % (len(self.rules), "".join(self.rules)))
        out.append('<pageMargins left="0.5" right="0.5" top="0.75" bottom="0.75" header="0.3" footer="0.3"/>'
                   '<pageSetup orientation="landscape" fitToHeight="0"/><headerFooter><oddFooter>&amp;L&amp;A&amp;R&amp;P of &amp;N</oddFooter></headerFooter></worksheet>')
        return "".join(out)


def section_pages(layout, strings):
    """The pages that are filled: titles and merged headings, and some rows with frames to begin with."""
    pages = {}
    for section in layout["sections"]:
        name, columns = section["page"], section["columns"]
        first = int(re.fullmatch(r"A(\d+)", section["first"]).group(1))
        if name not in pages:
            page = pages[name] = Page(name, strings)
            page.heading(1, len(columns), layout["title"], HEADING)
            page.widths = [(max(14, len(column.get("example", "")) + 2), COLUMN) for column in columns]
            page.frozen = first - 1
        page = pages[name]
        page.heading(first - 2, len(columns), section["heading"], PART)
        for at, column in enumerate(columns):
            page.put(first - 1, at, column["title"], TITLE)
            for row in range(first, first + 3):
                page.put(row, at, None, ENTRY)
    return pages


def make_pages(strings):
    with open(LAYOUT, encoding="utf-8") as file:
        layout = yaml.safe_load(file)
    pages = section_pages(layout, strings)
    pages["Interfaces"].rule("D4:D%d" % LAST, 'type="textLength" operator="equal"', "17", "Hardware address", "Six pairs of digits with hyphens")
    pages["Attached"].rule("C4:C%d" % LAST, 'type="list"', "kinds", "Kind", "Take one from the list, or ask the desk")
    first = Page("Instructions", strings)
    first.widths = [(24, PLAIN), (60, PLAIN)]
    first.heading(1, 2, "How to fill in this workbook", HEADING)
    for at, line in enumerate(INSTRUCTIONS):
        first.put(3 + at, 0, "%d." % (at + 1), PART)
        first.put(3 + at, 1, line, NOTE)
    row = 4 + len(INSTRUCTIONS)
    for what, cells in (("Stations entered", "Station!A4:A11"), ("Interfaces entered", "Interfaces!D4:D%d" % LAST), ("Devices entered", "Attached!B4:B%d" % LAST)):
        first.put(row, 0, what, TITLE)
        first.put(row, 1, None, COUNT, "COUNTA(%s)" % cells)
        row += 1
    lists = Page("Lists", strings, hidden=True)
    lists.widths = [(16, PLAIN)]
    for at, kind in enumerate(["Kinds of devices"] + KINDS):
        lists.put(1 + at, 0, kind, PLAIN if at else TITLE)
    return [first] + list(pages.values()) + [lists]


def relations(rows):
    return START + '<Relationships xmlns="%s/relationships">%s</Relationships>' % (PACKAGE, "".join(
        '<Relationship Id="r%d" Type="%s" Target="%s"/>' % (at + 1, kind, target) for at, (kind, target) in enumerate(rows)))


def make_parts():
    """The parts in their order, by name."""
    strings = {}
    pages = make_pages(strings)
    places = ["worksheets/sheet%d.xml" % (at + 1) for at in range(len(pages))]
    sheets = {"xl/" + place: START + page.xml() for place, page in zip(places, pages)}
    date = "%04d-%02d-%02dT%02d:%02d:%02dZ" % MADE
    core = (START + '<cp:coreProperties xmlns:cp="%s/metadata/core-properties" xmlns:dc="http://purl.org/dc/elements/1.1/" '
            'xmlns:dcterms="http://purl.org/dc/terms/" xmlns:xsi="http://www.w3.org/2001/XMLSchema-instance"><dc:title>Registration of a gauge station</dc:title>'
            '<dc:creator>Tavrane registration desk</dc:creator><dcterms:created xsi:type="dcterms:W3CDTF">%s</dcterms:created>'
            '<dcterms:modified xsi:type="dcterms:W3CDTF">%s</dcterms:modified></cp:coreProperties>' % (PACKAGE, date, date))
    types = [("/xl/workbook.xml", KIND + "sheet.main+xml"), ("/xl/styles.xml", KIND + "styles+xml"), ("/xl/sharedStrings.xml", KIND + "sharedStrings+xml"),
             ("/docProps/core.xml", "application/vnd.openxmlformats-package.core-properties+xml")] + [("/xl/" + place, KIND + "worksheet+xml") for place in places]
    book = ('<workbook xmlns="%s" xmlns:r="%s"><bookViews><workbookView activeTab="0"/></bookViews><sheets>%s</sheets>'
            '<definedNames><definedName name="kinds">Lists!$A$2:$A$%d</definedName></definedNames><calcPr fullCalcOnLoad="1"/></workbook>' % (
                MAIN, DOCUMENT, "".join('<sheet name="%s" sheetId="%d"%s r:id="r%d"/>' % (page.name, at + 1, ' state="hidden"' if page.hidden else "", at + 1)
                                        for at, page in enumerate(pages)), len(KINDS) + 1))
    uses = sum(each.count(' t="s"') for each in sheets.values())
    words = '<sst xmlns="%s" count="%d" uniqueCount="%d">%s</sst>' % (MAIN, uses, len(strings), "".join("<si><t>%s</t></si>" % escape(each) for each in strings))
    parts = {
        "[Content_Types].xml": START + '<Types xmlns="%s/content-types"><Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/>'
                               '<Default Extension="xml" ContentType="application/xml"/>%s</Types>' % (
                                   PACKAGE, "".join('<Override PartName="%s" ContentType="%s"/>' % each for each in types)),
        "_rels/.rels": relations([(DOCUMENT + "/officeDocument", "xl/workbook.xml"), (PACKAGE + "/relationships/metadata/core-properties", "docProps/core.xml")]),
        "docProps/core.xml": core,
        "xl/workbook.xml": START + book,
        "xl/_rels/workbook.xml.rels": relations([(DOCUMENT + "/worksheet", place) for place in places] +
                                                [(DOCUMENT + "/styles", "styles.xml"), (DOCUMENT + "/sharedStrings", "sharedStrings.xml")]),
        "xl/styles.xml": START + STYLES,
        "xl/sharedStrings.xml": START + words,
    }
    parts.update(sheets)
    return parts


def make(path):
    with zipfile.ZipFile(path, "w") as package:
        for name, text in make_parts().items():
            about = zipfile.ZipInfo(name, MADE)
            about.compress_type, about.create_system, about.external_attr = zipfile.ZIP_DEFLATED, 3, 0o644 << 16
            package.writestr(about, text.encode("utf-8"))


if __name__ == "__main__":
    make(sys.argv[1])
