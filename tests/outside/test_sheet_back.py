"""What is said of sheets that came back: texts of the desk's own beside the table, results of formulas, words and remedies."""
import json
import os
import re
import sys
import tempfile
import unicodedata
import zipfile

import openpyxl

HERE = os.path.dirname(os.path.abspath(__file__))
sys.path.insert(0, HERE)
import sheet_desk  # noqa: E402
from sheet_desk import DEMO, LAYOUT, NOW, books, load, own_layout, read, run, write  # noqa: E402


def parts_of(path):
    with zipfile.ZipFile(path) as package:
        return {name: package.read(name) for name in package.namelist()}


def verify(sheet, *args):
    status, said, err = run("sheet", "--json", "--verify", sheet, *args)
    return status, json.loads(said)["findings"] if said else err


def check_beside(cases, folder):
    """Texts of the desk's own in the row of titles; columns that somebody put in."""
    text = own_layout("beside-desk.xlsx")
    layout = write(os.path.join(books(folder), "beside.yaml"), text)
    template, out = os.path.join(books(folder), "beside-desk.xlsx"), os.path.join(folder, "beside.xlsx")
    sheet_desk.template(load(layout), template)
    book = openpyxl.load_workbook(template)
    page = book["Interfaces"]
    page["F3"], page["H3"], page["M3"], page["H5"] = "of the desk", "total", "internal use", "=COUNTA(D4:D20)"
    book.save(template)
    status, _, err = run("sheet", *NOW, "--layout", layout, DEMO, "--out", out)
    cases.check("a workbook with texts beside the titles is filled", status == 0, err)
    args = ("--layout", layout, DEMO)
    status, found = verify(out, *args)
    cases.check("and agrees with its job", status == 0 and found == [], found)

    def changed(name, change, *expected):
        path = os.path.join(folder, "beside-changed.xlsx")
        book = openpyxl.load_workbook(out)
        change(book["Interfaces"])
        book.save(path)
        status, found = verify(path, *args)
        cases.check(name, [(each["cell"], each["cause"]) for each in found] == list(expected) and status == (1 if expected else 0), found)
    changed("another text there is a column", lambda page: page.__setitem__("F3", "seen by"), ("F3", "column-added"))
    changed("a column put in is one, and so is what it moved", lambda page: page.insert_cols(4), ("D3", "column-added"), ("G3", "column-added"))
    changed("a text that an empty column parts from the table is none", lambda page: page.__setitem__("J3", "done"))
    os.remove(template)
    status, found = verify(out, *args)
    cases.check("without the desk's own workbook only the gap tells", [(each["cell"], each["cause"]) for each in found] == [("F3", "column-added")], found)


def check_below(cases, folder):
    """What stands below a blank row: the desk's remarks, or a record that nobody sent."""
    layout = write(os.path.join(books(folder), "below.yaml"), own_layout("below-desk.xlsx"))
    template, out = os.path.join(books(folder), "below-desk.xlsx"), os.path.join(folder, "below.xlsx")
    sheet_desk.template(load(layout), template)
    book = openpyxl.load_workbook(template)
    example = ["TB-11", "port1", "1", "00-00-5E-00-53-01", "5"]
    for column, value in enumerate(example):
        book["Interfaces"].cell(30, column + 1).value = value
    book.save(template)
    status, _, err = run("sheet", *NOW, "--layout", layout, DEMO, "--out", out)
    cases.check("a workbook with an example below is filled", status == 0, err)
    _, seal, _ = run("seal", "--layout", layout, out)

    def changed(name, rows, *expected, sealed=True):
        path = os.path.join(folder, "below-changed.xlsx")
        book = openpyxl.load_workbook(out)
        for page, row, values in rows:
            for column, value in enumerate(values):
                book[page].cell(row, column + 1).value = value
        book.save(path)
        status, found = verify(path, "--layout", layout, DEMO)
        cases.check(name, [(each["page"], each["cell"], each["cause"]) for each in found] == list(expected) and status == (1 if expected else 0), found)
        _, said, _ = run("seal", "--layout", layout, path)
        cases.check("%s, says the seal" % name, (said == seal) is sealed, said, seal)
    changed("the desk's own example is no record", [])
    changed("nor is a remark", [("Interfaces", 22, ["", "checked", "12"]), ("Interfaces", 24, ["TB-11"]), ("Attached", 20, ["seen", "by desk 2"])])
    changed("an address is one", [("Interfaces", 20, ["", "port13", "", "00-00-5E-00-53-1D"])], ("Interfaces", "A20", "row-added"), sealed=False)
    changed("and so is a device of the site", [("Attached", 12, ["TB-11", "mast radio"])], ("Attached", "A12", "row-added"), sealed=False)
    changed("and all that the layout requires, of any site", [("Attached", 12, ["TB-99", "mast radio", "radio"])],
            ("Attached", "A12", "site-unknown"), sealed=False)
    changed("the example with another digit is one", [("Interfaces", 30, ["TB-11", "port1", "1", "00-00-5E-00-53-02"])],
            ("Interfaces", "A30", "row-added"), sealed=False)


def check_results(cases, folder):
    """Formulas keep what they came to before the sheet was filled, byte for byte; that is told."""
    text = own_layout("results-desk.xlsx")
    layout = write(os.path.join(books(folder), "results.yaml"), text)
    template, out = os.path.join(books(folder), "results-desk.xlsx"), os.path.join(folder, "results.xlsx")
    sheet_desk.template(load(layout), template)
    book = openpyxl.load_workbook(template)
    book["Interfaces"]["G4"] = '=IF(LEN(D4)>0,"ok","?")'
    book["Notes"]["B2"] = "=COUNTA(Interfaces!D4:D20)"
    book.save(template)
    parts = parts_of(template)
    # the writer of the template asks for a calculation at opening, and leaves no results
    calc = re.search(rb"<calcPr[^>]*/>", parts["xl/workbook.xml"]).group(0)
    empty = b"</f><v/></c>" if any(b"</f><v/></c>" in data for data in parts.values()) else b"</f><v></v></c>"
    one = {b'"?")' + empty: b'"?")</f><v>?</v></c>', b'<c r="G4">': b'<c r="G4" t="str">'}

    def fill(*replaced, asks=b'<calcPr calcId="191029"/>'):
        with zipfile.ZipFile(template, "w", zipfile.ZIP_DEFLATED) as package:
            for name, data in parts.items():
                for old, new in [(calc, asks)] + [pair for each in replaced for pair in each.items()]:
                    data = data.replace(old, new)
                package.writestr(name, data)
        status, said, err = run("sheet", *NOW, "--json", "--layout", layout, DEMO, "--out", out)
        return status, json.loads(said)["findings"]
    status, found = fill()
    cases.check("formulas without a result need no word", status == 0 and found == [], found)
    status, found = fill(one)
    told = [(each["severity"], each["code"], each["page"], each["cell"], each["cause"]) for each in found]
    cases.check("one that keeps its result is a note", status == 0 and told == [("note", "sheet-structure", "Interfaces", "G4", "formulas-stale")]
                and "office program" in found[0]["remedy"], found)
    kept = re.search(rb'<c r="G4".*?</c>', parts_of(template)["xl/worksheets/sheet2.xml"]).group(0)
    cases.check("formula and result are kept byte for byte", kept in parts_of(out)["xl/worksheets/sheet2.xml"] and b"<v>?</v>" in kept, kept)
    two = {b"D20)" + empty: b"D20)</f><v>0</v></c>"}
    status, found = fill(one, two)
    cases.check("also those on a page that is not filled", status == 0 and len(found) == 1 and "the first of 2 formulas" in found[0]["message"], found)
    status, said, err = run("sheet", *NOW, "--layout", layout, DEMO, "--out", out)
    cases.check("in plain text, too", status == 0 and err.startswith("note  sheet-structure: Interfaces!G4 the first of 2 formulas"), err)
    status, found = fill(one, asks=b'<calcPr fullCalcOnLoad="1"/>')
    cases.check("a workbook that asks to be calculated when it is opened needs no word", status == 0 and found == [], found)
    status, found = fill(one, asks=b'<calcPr fullCalcOnLoad="0"/>')
    cases.check("one that says it does not is told of", status == 0 and len(found) == 1, found)


def check_words(cases, folder):
    """What is said of a sheet shows the difference, and says what to do about it."""
    out, path = os.path.join(folder, "words.csv"), os.path.join(folder, "words-changed.csv")
    run("sheet", *NOW, DEMO, "--out", out)
    text = read(out).decode("utf-8")

    def changed(name, change, *says, never=()):
        with open(path, "w", encoding="utf-8", newline="") as file:
            file.write(change(text))
        status, said, err = run("sheet", "--verify", path, DEMO)
        said = said.decode("utf-8")
        cases.check("said: " + name, status == 1 and all(each in said for each in says) and not any(each in said for each in never), said, err)
    changed("a no-break blank", lambda t: t.replace("Pellarn Weir", "Pellarn\u00a0Weir"), 'reads "Pellarn\\u{A0}Weir", should be "Pellarn Weir"')
    changed("a narrow one", lambda t: t.replace("Pellarn Weir", "Pellarn\u202fWeir"), 'reads "Pellarn\\u{202F}Weir"', never="\u202f")
    changed("an exchange of two cells", lambda t: re.sub(r"(,port3,[^,]*),([^,]*),([^,\r]*)", r"\1,\3,\2", t), 'what belongs under "Check"',
            'what belongs under "Hardware address"', never=["no single cause"])
    changed("a sorted section", lambda t: "\r\n".join(sorted_ports(t.split("\r\n"))), "in another order", "sort the rows back", never=["current layout"])
    changed("a row less", lambda t: re.sub(r"[^\n]*,port3,.*\n", "", t), "is missing", "put the row back", never=["current layout"])
    changed("a row more", lambda t: t + "TB-11,spare,camera,K-9,,\r\n", "a row that the job does not have", "take the row out", never=["current layout"])
    changed("a row twice", lambda t: re.sub(r"([^\n]*,port3,.*\n)", r"\1\1", t), "once more", "too many", never=["current layout"])
    twin = write(os.path.join(folder, "twin.yaml"), read(DEMO, "r"))
    status, said, err = run("sheet", "--verify", out, DEMO, twin)
    cases.check("said: two jobs of one site", status == 1 and b"two jobs bear the site code" in said and b"name one of them" in said and b"current layout" not in said, said)

    # letters and marks: every one that the program knows, in one name
    letters = "".join(chr(point) for low, high in ((0xC0, 0x250), (0x370, 0x500), (0x1E00, 0x1F00), (0x3040, 0x3100), (0xAC00, 0xAC40))
                      for point in range(low, high) if unicodedata.normalize("NFD", chr(point)) != chr(point) == unicodedata.normalize("NFC", chr(point)))
    wide = write(os.path.join(books(folder), "wide.yaml"), read(LAYOUT, "r").replace('example: "Orsketh practice cabinet", widest: "40"', 'example: "x"'))
    job = write(os.path.join(folder, "letters.yaml"), read(DEMO, "r").replace("Pellarn Weir", letters))
    run("sheet", *NOW, "--layout", wide, job, "--out", out)
    whole = read(out).decode("utf-8")
    assert letters in whole
    with open(path, "w", encoding="utf-8", newline="") as file:
        file.write(whole.replace(letters, unicodedata.normalize("NFD", letters)))
    status, found = verify(path, "--layout", wide, job)
    cases.check("said: %d letters parted from their marks" % len(letters), len(letters) > 600 and [each["cause"] for each in found] == ["composition"], found)
    wrong = []
    for at in range(0, len(letters), 9):
        other = unicodedata.normalize("NFD", letters[at])[:-1] + "\u0330"
        with open(path, "w", encoding="utf-8", newline="") as file:
            file.write(whole.replace(letters[at], other))
        status, found = verify(path, "--layout", wide, job)
        if unicodedata.normalize("NFC", other) != letters[at] and "composition" in {each["cause"] for each in found}:
            wrong.append(letters[at])
    cases.check("said: another mark is another letter", not wrong, wrong)
    with open(path, "w", encoding="utf-8", newline="") as file:
        file.write(text.replace("Pellarn", "Pella\u0308rn"))
    accented = write(os.path.join(folder, "accented.yaml"), read(DEMO, "r").replace("Pellarn Weir", "Pell\u00e4rn Weir"))
    status, said, err = run("sheet", "--verify", path, accented)
    cases.check("said: the mark is shown", b'reads "Pella\\u{308}rn Weir", should be "Pell\xc3\xa4rn Weir"' in said and b"UAX #15" in said, said)


def sorted_ports(lines):
    top = next(i for i, line in enumerate(lines) if ",Interface," in line) + 1
    end = next(i for i, line in enumerate(lines) if line.startswith("Part D"))
    return lines[:top] + sorted(lines[top:end], key=lambda line: line.split(",")[3], reverse=True) + lines[end:]


def main():
    cases = sheet_desk.Cases()
    with tempfile.TemporaryDirectory() as folder:
        check_beside(cases, folder)
        check_below(cases, folder)
        check_results(cases, folder)
        check_words(cases, folder)
    return cases.failed


sys.exit(main())
