"""A workbook that portmuster fills: openpyxl reads every value as the text that was put, and all else in the
package is byte for byte what it was. What openpyxl wrote, portmuster reads."""
import datetime
import os
import random
import re
import shlex
import shutil
import struct
import subprocess
import sys
import tempfile
import zipfile

import openpyxl
from openpyxl.comments import Comment
from openpyxl.formatting.rule import CellIsRule
from openpyxl.styles import Alignment, Border, Font, PatternFill, Protection, Side
from openpyxl.utils.escape import unescape
from openpyxl.workbook.defined_name import DefinedName
from openpyxl.worksheet.datavalidation import DataValidation

HERE = os.path.dirname(os.path.abspath(__file__))
ROOT = os.path.dirname(os.path.dirname(HERE))
BUILD = os.path.join(ROOT, os.environ.get("BUILD", "build"))
CC = shlex.split(os.environ.get("CC") or "cc")
MAIN = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"

# Values that a spreadsheet takes for something else when they are not marked as text.
NASTY = [
    "00-00-5E-00-53-01", "001122334455", "12E456", "0012", "=1+1", "1/2", " leading", "trailing ", "a&b<c>", "]]>", '"', "'",
    "_x0041_", "_x005F_x0041_", "_x0041_x0042_", "_x", "caf\u00e9", "\u6c34\u4f4d", "\U0001F4A7", "TRUE", "#N/A", "+1", "-1",
    "@x", "2026-03-01", "12:30", "1e3", "1,5", "1.10", "  ", "\u00a0", "\u202eabc", "&amp;", "&#65;", "<t>", "x" * 32767,
]


def build(folder):
    out = os.path.join(folder, "driver")
    base = CC + ["-std=c11", "-D_DEFAULT_SOURCE", "-I" + os.path.join(ROOT, "include"), "-I" + os.path.join(ROOT, "src"),
                 os.path.join(HERE, "workbook_fill.c"), os.path.join(BUILD, "libpm-sheet.a"), os.path.join(BUILD, "libpm-store.a"),
                 os.path.join(BUILD, "libportmuster.a"), "-lyaml", "-lsodium", "-lzip", "-lxml2", "-o", out]
    # Archives that were built with sanitizers need them here as well.
    for extra in ([], ["-fsanitize=address,undefined"]):
        result = subprocess.run(base + extra, capture_output=True, text=True)
        if result.returncode == 0:
            return out
    sys.exit("the driver does not build:\n" + result.stderr[-3000:])


def drive(driver, source, target, lines):
    """Lines are (verb, page, place[, text])."""
    text = "".join(" ".join([line[0], line[1].encode().hex(), line[2]] + [part.encode().hex() for part in line[3:]]) + "\n" for line in lines)
    result = subprocess.run([driver, source, target], input=text, capture_output=True, text=True)
    if result.returncode != 0:
        sys.exit("the driver failed: " + result.stderr[-3000:])
    return result.stdout.splitlines()


def put(driver, source, target, puts):
    """What went wrong when all of {(page, place): text} were put and saved."""
    answers = drive(driver, source, target, [("put", page, place, text) for (page, place), text in puts.items()])
    return ["%s: %s" % pair for pair in zip(list(puts) + ["save"], answers) if pair[1] not in ("ok", "saved")]


# --- packages, by their bytes ---

def records(path):
    """{name: (order, local record, central record without its offset)}, and the bytes behind the central directory."""
    with open(path, "rb") as file:
        data = file.read()
    end = data.rindex(b"PK\5\6")
    count, size, at = struct.unpack("<HII", data[end + 10:end + 20])
    entries = []
    directory = at
    for _ in range(count):
        name, extra, comment = struct.unpack("<HHH", data[at + 28:at + 34])
        length = 46 + name + extra + comment
        offset, = struct.unpack("<I", data[at + 42:at + 46])
        entries.append((data[at + 46:at + 46 + name].decode(), offset, data[at:at + 42] + data[at + 46:at + length]))
        at += length
    starts = sorted(entry[1] for entry in entries) + [directory]
    return {name: (order, data[offset:starts[starts.index(offset) + 1]], central)
            for order, (name, offset, central) in enumerate(entries)}, data[end + 20:]


def compare(before, after, changed):
    """What differs besides the parts in `changed`; and which parts were compared."""
    old, old_comment = records(before)
    new, new_comment = records(after)
    wrong, same = [], []
    if list(old) != list(new):
        return ["parts %s became %s" % (list(old), list(new))], same
    if old_comment != new_comment:
        wrong.append("the archive's comment differs")
    for name in old:
        if name not in changed:
            if old[name] == new[name]:
                same.append(name)
            else:
                wrong.append("part %s differs" % name)
    with zipfile.ZipFile(before) as one, zipfile.ZipFile(after) as other:
        if other.testzip():
            wrong.append("part %s is damaged" % other.testzip())
        for a, b in zip(one.infolist(), other.infolist()):
            if (a.filename, a.date_time, a.external_attr, a.extra, a.comment, a.compress_type) != \
               (b.filename, b.date_time, b.external_attr, b.extra, b.comment, b.compress_type):
                wrong.append("part %s: its entry differs" % a.filename)
    return wrong, same


CELL = re.compile(rb'<(?:\w+:)?c [^>]*?\br="([A-Z]+[0-9]+)"[^>]*?(?:/>|>.*?</(?:\w+:)?c>)', re.S)


def outside_cells(path, part, places):
    """A page's bytes without the cells named; what a new cell brings with it is left out as well."""
    with zipfile.ZipFile(path) as package:
        xml = package.read(part)
    xml = CELL.sub(lambda match: b"" if match.group(1).decode() in places else match.group(0), xml)
    xml = re.sub(rb'<row r="[0-9]+"></row>', b"", xml)
    xml = re.sub(rb'(<row [^>]*?) ?/>', rb"\1></row>", xml)
    return re.sub(rb'<dimension ref="[^"]*"\s*/>', b"", re.sub(rb' spans="[^"]*"', b"", xml))


def check_comparison(folder, template):
    """One byte of a part's record, or of a cell that was not put, does not pass."""
    path, wrong = os.path.join(folder, "spoiled.xlsx"), []
    with open(template, "rb") as file:
        data = bytearray(file.read())
    data[data.index(b"xl/styles.xml") - 18] ^= 1   # its time, in the local header
    with open(path, "wb") as file:
        file.write(data)
    if compare(template, path, PAGES.values())[0] != ["part xl/styles.xml differs"]:
        wrong.append("a part's time: %s" % compare(template, path, PAGES.values())[0])
    if compare(template, template, PAGES.values())[0]:
        wrong.append("a file and itself")
    page = PAGES["Registration"]
    if outside_cells(template, page, {"H4"}) == outside_cells(template, page, {"H3"}):
        wrong.append("a page's cells")
    return wrong


# --- a template with much in it ---

def make_template(path):
    book = openpyxl.Workbook()
    page = book.active
    page.title = "Registration"
    thin = Side(style="thin", color="FF336699")
    page["A1"] = "Tavrane basin: registration"
    page["A1"].font = Font(bold=True, size=16)
    page.merge_cells("A1:F1")
    page.merge_cells("H30:I31")
    page.column_dimensions["A"].width = 31.5
    page.column_dimensions["C"].hidden = True
    page.row_dimensions[3].height = 40
    for row in range(3, 3 + len(NASTY)):
        page.cell(row, 1, "line %d" % row)
        cell = page.cell(row, 2)
        cell.border = Border(left=thin, right=thin)
        cell.number_format = ["General", "@", "0.00", "yyyy-mm-dd"][row % 4]
        cell.alignment = Alignment(wrap_text=True)
        cell.fill = PatternFill("solid", fgColor="FFEEEE00")
        if row % 3:
            cell.value = ["old", 17, datetime.date(2026, 3, 1)][row % 3]
        page.cell(row, 5).value = "=B%d&\"!\"" % row
    page["H1"], page["H2"], page["H3"], page["H4"], page["H5"] = 1.5, True, datetime.datetime(2026, 3, 1, 12), "text", "#N/A"
    page["H5"].data_type = "e"
    page["H6"] = "=SUM(H1:H1)"
    page["A1"].comment = Comment("as the desk wants it", "desk")
    listed = DataValidation(type="list", formula1='"one,two"', allow_blank=True)
    listed.add("F3:F9")
    page.add_data_validation(listed)
    page.conditional_formatting.add("B3:B9", CellIsRule(operator="equal", formula=['"x"'], fill=PatternFill("solid", bgColor="FFFF0000")))
    page["B3"].protection = Protection(locked=False)
    page.protection.sheet = True
    page.freeze_panes = "B3"
    page.print_title_rows = "1:2"
    page.auto_filter.ref = "A2:F9"
    book.create_sheet("Notes & more")["B2"] = "other page"
    hidden = book.create_sheet("Lists")
    hidden["A1"] = "one"
    hidden.sheet_state = "hidden"
    book.defined_names.append(DefinedName("Unit", attr_text="Registration!$B$3"))
    book.save(path)
    share_strings(path)


def share_strings(path):
    """Texts that openpyxl wrote into the cells go into a table of shared strings, as most writers have them."""
    table = []

    def share(match):
        table.append(match.group(1))
        return b't="s"><v>%d</v>' % (len(table) - 1)

    with zipfile.ZipFile(path) as package:
        parts = {name: package.read(name) for name in package.namelist()}
    for name in parts:
        if name.startswith("xl/worksheets/sheet"):
            parts[name] = re.sub(rb't="inlineStr"><is><t>([^<]*)</t></is>', share, parts[name])
    parts["xl/sharedStrings.xml"] = b'<sst xmlns="%s">%s</sst>' % (MAIN.encode(), b"".join(b"<si><t>%s</t></si>" % text for text in table))
    kind = "application/vnd.openxmlformats-officedocument.spreadsheetml.sharedStrings+xml"
    parts["[Content_Types].xml"] = parts["[Content_Types].xml"].replace(
        b"</Types>", b'<Override PartName="/xl/sharedStrings.xml" ContentType="%s"/></Types>' % kind.encode())
    relation = '<Relationship Id="rIdShared" Type="http://schemas.openxmlformats.org/officeDocument/2006/relationships/sharedStrings" Target="sharedStrings.xml"/>'
    parts["xl/_rels/workbook.xml.rels"] = parts["xl/_rels/workbook.xml.rels"].replace(b"</Relationships>", relation.encode() + b"</Relationships>")
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as package:
        for name, data in parts.items():
            package.writestr(name, data)


def check_filled(driver, folder, source, target, pages):
    """Fill a template of make_template with the nasty values."""
    puts = {("Registration", "B%d" % (3 + at)): text for at, text in enumerate(NASTY)}
    puts.update({("Registration", "D%d" % (3 + 2 * at)): text for at, text in enumerate(NASTY)})
    puts.update({("Notes & more", "B2"): NASTY[0], ("Notes & more", "C9"): NASTY[1], ("Lists", "A1"): ""})
    wrong = put(driver, source, target, puts)
    if wrong:
        return wrong
    before, after = openpyxl.load_workbook(source), openpyxl.load_workbook(target)
    for (name, place), text in puts.items():
        old, cell = before[name][place], after[name][place]
        if text and (cell.data_type != "s" or type(cell.value) is not str or unescape(cell.value) != text):
            wrong.append("%s is %r (%s), not %r" % (place, cell.value, cell.data_type, text))
        if not text and cell.value is not None:
            wrong.append("%s is %r, not empty" % (place, cell.value))
        if old.style_id != cell.style_id:
            wrong.append("%s: style %d became %d" % (place, old.style_id, cell.style_id))
    if after["Registration"]["B15"].value != "_x005F_x0041_":
        wrong.append("an escape is stored as %r" % after["Registration"]["B15"].value)
    for page in before:
        for row in page.iter_rows():
            for cell in row:
                other = after[page.title][cell.coordinate]
                if (page.title, cell.coordinate) not in puts and (cell.value, cell.data_type, cell.style_id) != (other.value, other.data_type, other.style_id):
                    wrong.append("%s became %r" % (cell.coordinate, other.value))
    difference, same = compare(source, target, pages.values())
    wrong += difference
    for title, part in pages.items():
        places = {place for name, place in puts if name == title}
        if outside_cells(source, part, places) != outside_cells(target, part, places):
            wrong.append("part %s differs in more than its cells" % part)
    answers = drive(driver, target, "-", [("get", page, place) for page, place in puts])
    for ((_, place), text), answer in zip(puts.items(), answers):
        if answer.split(" ") != ["text" if text else "empty", "0", text.encode().hex()]:
            wrong.append("%s reads back as %s" % (place, answer[:80]))
    print("# figure workbook %s: %d cells put, %d parts byte for byte the same: %s" % (os.path.basename(source), len(puts), len(same), " ".join(same)))
    return wrong


PAGES = {"Registration": "xl/worksheets/sheet1.xml", "Notes & more": "xl/worksheets/sheet2.xml", "Lists": "xl/worksheets/sheet3.xml"}


class Stream:
    """A file that can't be gone back in: zipfile then writes data descriptors."""

    def __init__(self, file):
        self.file = file

    def write(self, data):
        return self.file.write(data)

    def flush(self):
        self.file.flush()


def streamed(source, target):
    """The same parts as another writer might store them: data descriptors, extra fields, comments, other times
    and order, one part unpacked, bytes in front."""
    with zipfile.ZipFile(source) as package, open(target, "wb") as file:
        with zipfile.ZipFile(Stream(file), "w") as out:
            for number, name in enumerate(reversed(package.namelist())):
                info = zipfile.ZipInfo(name, (1999, 12, 31, 23, 59, 58))
                info.extra = b"\x99\x99\x02\x00ab"
                info.comment = b"part %d" % number
                info.compress_type = zipfile.ZIP_STORED if name.endswith("sheet2.xml") else zipfile.ZIP_DEFLATED
                out.writestr(info, package.read(name))
            out.comment = "caf\u00e9".encode()


def check_reading(driver, path):
    places = {"A1": ("text", "Tavrane basin: registration"), "H1": ("number", "1.5"), "H2": ("truth", "TRUE"), "H3": ("date", "46082.5"),
              "H4": ("text", "text"), "H5": ("error", "#N/A"), "H6": ("formula", ""), "B1": ("empty", ""), "B5": ("date", "46082"),
              "B4": ("number", "17"), "ZZ99": ("empty", "")}
    answers = drive(driver, path, "-", [("get", "Registration", place) for place in places])
    return ["%s: %s" % (place, answer) for (place, (kind, text)), answer in zip(places.items(), answers)
            if answer.split(" ") != [kind, "1" if place == "B1" else "0", text.encode().hex()]]


def check_refused(driver, folder, path):
    cases = {"E3": ("x", "holds a formula"), "B1": ("x", "merged"), "I31": ("x", "merged"), "B3": ("a\nb", "control character"),
             "B4": ("x" * 32768, "32,767")}
    answers = drive(driver, path, "-", [("put", "Registration", place, text) for place, (text, _) in cases.items()])
    return ["%s: %s" % (place, answer) for (place, (_, why)), answer in zip(cases.items(), answers)
            if not answer.startswith("refused ") or why not in answer]


# --- a template written by hand ---

HAND = ("<?xml version='1.0' encoding='UTF-8' standalone='yes'?>\r\n<!-- by hand --><x:worksheet xmlns:x='" + MAIN + "' xmlns:q='urn:q'>"
        "<x:dimension ref='A1:C4'/><x:cols><x:col min='4' max='4' width='9' style='1'/></x:cols><x:sheetData>\r\n"
        "<x:row><x:c t='s'><x:v>0</x:v></x:c><x:c/></x:row>\r\n<x:row spans='1:2' q:z='>'><x:c><x:v>1</x:v></x:c></x:row><x:row/>"
        "<x:row r='9' s='1' customFormat='1'/></x:sheetData><x:pageMargins left='1' right='1' top='1' bottom='1' header='0' footer='0'/></x:worksheet>\n")
HAND_AFTER = ("<?xml version='1.0' encoding='UTF-8' standalone='yes'?>\r\n<!-- by hand --><x:worksheet xmlns:x='" + MAIN + "' xmlns:q='urn:q'>"
              "<x:dimension ref='A1:D9'/><x:cols><x:col min='4' max='4' width='9' style='1'/></x:cols><x:sheetData>\r\n"
              "<x:row><x:c t='s'><x:v>0</x:v></x:c><x:c @B1@</x:c></x:row>\r\n<x:row spans='1:4' q:z='>'><x:c><x:v>1</x:v></x:c>"
              "<x:c r=\"D2\" s=\"1\" @D2@</x:c></x:row><x:row><x:c r=\"A3\" @A3@</x:c></x:row><x:row r=\"5\"><x:c r=\"D5\" s=\"1\" @D5@</x:c></x:row>"
              "<x:row r='9' s='1' customFormat='1'><x:c r=\"B9\" s=\"1\" @B9@</x:c></x:row></x:sheetData>"
              "<x:pageMargins left='1' right='1' top='1' bottom='1' header='0' footer='0'/></x:worksheet>\n")


def check_by_hand(driver, folder, template):
    """Prefixes, rows and cells that do not say where they stand."""
    source, target = os.path.join(folder, "hand.xlsx"), os.path.join(folder, "hand-filled.xlsx")
    with zipfile.ZipFile(template) as package, zipfile.ZipFile(source, "w", zipfile.ZIP_DEFLATED) as out:
        for name in package.namelist():
            out.writestr(name, HAND if name == PAGES["Notes & more"] else package.read(name))
    places = ["B1", "D2", "A3", "D5", "B9"]
    wrong = put(driver, source, target, {("Notes & more", place): "at " + place for place in places})
    if wrong:
        return wrong
    expected = HAND_AFTER
    for place in places:
        expected = expected.replace("@%s@" % place, 't="inlineStr"><x:is><x:t xml:space="preserve">at %s</x:t></x:is>' % place)
    with zipfile.ZipFile(target) as package:
        found = package.read(PAGES["Notes & more"]).decode()
    if found != expected:
        wrong.append("the page is %r" % found)
    page = openpyxl.load_workbook(target)["Notes & more"]
    wrong += ["%s is %r" % (place, page[place].value) for place in places if page[place].value != "at " + place]
    difference, same = compare(source, target, [PAGES["Notes & more"]])
    print("# figure workbook by hand: %d parts byte for byte the same" % len(same))
    return wrong + difference


# --- hostile files ---

def check_hostile(driver, folder, template):
    with open(template, "rb") as file:
        sound = file.read()
    path, out = os.path.join(folder, "hostile.xlsx"), os.path.join(folder, "hostile-out.xlsx")
    dice = random.Random(20260301)
    tried = {"opened": 0, "refused": 0}
    wrong = []

    def attempt(data, must_fail):
        with open(path, "wb") as file:
            file.write(data)
        answers = drive(driver, path, out, [("get", "Registration", "A1"), ("put", "Registration", "B3", "x")])
        if not answers:
            wrong.append("no answer")
        elif answers[0].startswith("refused"):
            tried["refused"] += 1
        else:
            tried["opened"] += 1
            if must_fail:
                wrong.append("opened: %r" % answers)

    for _ in range(40):
        attempt(sound[:dice.randrange(len(sound))], True)
        garbage = bytes(dice.randrange(256) for _ in range(300))
        attempt(dice.choice([b"", b"PK\3\4", b"PK\5\6", sound[:60], b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"]) + garbage, True)
        spoiled = bytearray(sound)
        for _ in range(dice.randrange(1, 6)):
            spoiled[dice.randrange(len(spoiled))] = dice.randrange(256)
        attempt(bytes(spoiled), False)
    print("# figure workbook hostile: %(refused)d refused, %(opened)d opened" % tried)
    return wrong


def main():
    failed = False

    def say(name, wrong):
        nonlocal failed
        print("%s %s" % ("not ok" if wrong else "ok", name))
        for line in wrong[:10]:
            print("# " + line[:300])
        failed = failed or bool(wrong)

    folder = tempfile.mkdtemp()
    try:
        driver = build(folder)
        template, other = os.path.join(folder, "template.xlsx"), os.path.join(folder, "streamed.xlsx")
        make_template(template)
        streamed(template, other)
        say("a difference would be seen", check_comparison(folder, template))
        say("what was written elsewhere is read", check_reading(driver, template))
        say("nasty values", check_filled(driver, folder, template, os.path.join(folder, "filled.xlsx"), PAGES))
        say("nasty values, a package stored in another way", check_filled(driver, folder, other, os.path.join(folder, "filled-2.xlsx"), PAGES))
        say("formulas, merged cells and unfit text are refused", check_refused(driver, folder, template))
        say("a page written by hand", check_by_hand(driver, folder, template))
        say("hostile files", check_hostile(driver, folder, template))
    finally:
        shutil.rmtree(folder)
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
