"""Makes every mangled sheet from the intact one; run as a program, writes them and what is said of each."""
import csv
import datetime
import io
import json
import os
import shutil
import sys
import tempfile
import unicodedata

import openpyxl

HERE = os.path.dirname(os.path.abspath(__file__))
sys.path.insert(0, os.path.dirname(HERE))
import sheet_desk  # noqa: E402

CSV, BOOK = {}, {}
INTACT = {}     # the text of the sheet that was written


def sheet(function):
    CSV[function.__name__.replace("_", "-")] = function
    return function


def book(function):
    BOOK["book-" + function.__name__.replace("_", "-")] = function
    return function


def swap(old, new, count=1):
    """A CSV sheet with `old` replaced; it must be there."""
    def change(text):
        assert old in text, old
        return text.replace(old, new, count)
    return change


def rows(text):
    return list(csv.reader(io.StringIO(text, newline="")))


def put(records, separator=","):
    out = io.StringIO()
    csv.writer(out, delimiter=separator, lineterminator="\r\n").writerows(records)
    return out.getvalue()


def section(records, title):
    """Index of the row of titles that holds `title`."""
    return next(i for i, row in enumerate(records) if title in row)


# --- CSV sheets: the docstring says what was done -----------------------------

@sheet
def intact(text):
    """as it was written"""
    return text


@sheet
def byte_order_mark(text):
    """saved with a byte order mark"""
    return "\ufeff" + text


@sheet
def semicolons(text):
    """saved where the list separator is a semicolon"""
    return put(rows(text), ";")


@sheet
def tabs(text):
    """saved as text with tabs"""
    return put(rows(text), "\t")


@sheet
def line_feeds(text):
    """saved with bare line feeds"""
    return text.replace("\r\n", "\n")


@sheet
def trailing_commas_cut(text):
    """an editor took the commas off the ends of lines"""
    return "\r\n".join(line.rstrip(",") for line in text.split("\r\n"))


@sheet
def windows_1252(text):
    """saved in the code page Windows-1252"""
    return text.encode("cp1252")


@sheet
def utf_16(text):
    """saved as "Unicode text": UTF-16, tabs"""
    return put(rows(text), "\t").encode("utf-16")


@sheet
def utf_16_without_mark(text):
    """UTF-16 with the high byte first, and no mark in front that says so"""
    return text.encode("utf-16-be")


@sheet
def carriage_returns(text):
    """saved with bare carriage returns"""
    return text.replace("\r\n", "\r")


@sheet
def read_as_latin(text):
    """read as Windows-1252 although it was UTF-8, saved as UTF-8"""
    return text.encode().decode("cp1252")


@sheet
def letters_lost(text):
    """saved in a code page that lacks its letters"""
    return text.encode("ascii", "replace").decode()


# what was replaced by what
SWAPS = [
    ("leading-zeros", "0417733", "417733", "the gauge's serial number was taken for a number"),
    ("scientific", "0417E12", "4.17E+14", "a serial number of digits and one E was taken for a number"),
    ("scientific-address", "00005E005321", "0E+00", "an address of digits and one E was taken for a number"),
    ("scientific-decimals", "00005E005321", "0.00E+00", "the same shown with two decimals"),
    ("scientific-zero", "00005E005321", "0", "the same shown without an exponent"),
    ("scientific-expanded", "0417E12", "417000000000000", "a serial number of digits and one E was taken for a number and written out"),
    ("scientific-of-another", "0417E12", "4.18E+14", "scientific notation, but of another number"),
    ("digits-and-e-slip", "00005E005321", "00005E005331", "one wrong digit in an address that reads as a number beyond all bounds"),
    ("digits-and-e-neighbours", "00005E005321", "00005E005312", "two digits of it in each other's place"),
    ("digits-and-e-dropped", "00005E005321", "00005E00532", "its last digit left out"),
    ("digits-and-e-doubled", "00005E005321", "00005E0053211", "its last digit twice"),
    ("digits-and-e-case", "00005E005321", "00005e005321", "its letter made small"),
    ("digits-and-e-another-row", "00005E005321", "00005E005310", "the address of another row, both with digits and one E"),
    ("scientific-long", "12345678901234567890", "1.23457E+19", "twenty digits were taken for a number and shown in short"),
    ("fifteen-digits", "12345678901234567890", "12345678901234500000", "twenty digits went through a number, which keeps fifteen"),
    ("date-of-two-numbers", "07-12", "12-Jul", "the unit code was taken for a date"),
    ("date-of-a-month", "MAR-07", "2007-03-01", "the parent's code was taken for a date"),
    ("number-decimal", "1.10", "1.1", "the crew was taken for a number"),
    ("number-comma", "1.10", '"1,1"', "the same where a comma stands for the point"),
    ("letter-o", "00005E005321", "OOOO5EOO5321", "typed with letters O for zeros"),
    ("look-alike-hex", "00005E00534B", "00005E005348", "8 for B in one address"),
    ("cyrillic", "EG12-26-00417", "\u0415G12-26-00417", "the first letter is Cyrillic"),
    ("greek-titles", "Address", "\u0391ddress", "a title begins with a Greek letter"),
    ("full-width", "MAR-07", "\uff2d\uff21\uff32\uff0d\uff10\uff17", "typed through an input method in full-width characters"),
    ("trailing-blank", "EG12-26-00417", "EG12-26-00417 ", "a blank behind the serial number"),
    ("line-break-inside", "stilling well", '"stilling\nwell"', "a line break in a name"),
    ("no-break-blank", "stilling well", "stilling\u00a0well", "copied from a page: a no-break blank"),
    ("zero-width", "00005E00533C", "00005E\u200b00533C", "copied from a page: a blank without width inside an address"),
    ("composition", "Gr\u00fcnsk\u00f6ld", unicodedata.normalize("NFD", "Gr\u00fcnsk\u00f6ld"), "saved by a system that parts letters from their marks"),
    ("formula-in-quotes", "00005E00533C", '="00005E00533C"', "put into a formula that keeps it as text, and saved without quotes around that"),
    ("quote-inside", "stilling well", 'stilling "well"', "quotes inside a field that has none around it"),
    ("dashes", "EG12-26-00417", "EG12\u201326\u201300417", "a word processor made en dashes of the hyphens"),
    ("lower-case", "EG12-26-00417", "eg12-26-00417", "the serial number in small letters"),
    ("notation-colon", "00005E00533C", "00:00:5e:00:53:3c", "one address in another notation"),
    ("notation-dropped-zeros", "00:00:5e:00:53:a1", "0:0:5e:0:53:a1", "zeros dropped in every octet: still the same address"),
    ("zero-lost-in-octet", "00:00:5e:00:53:a1", "00:00:5e:0:53:a1", "a zero lost in one octet: no address any more"),
    ("slip-wrong", "00005E00533C", "00005E005F3C", "one wrong digit"),
    ("slip-neighbours", "00005E00534B", "00005E0053B4", "two digits in each other's place"),
    ("slip-across-a-colon", "00:00:5e:00:53:a2", "00:00:5e:00:5a:32", "two digits in each other's place, a colon between"),
    ("slip-dropped", "EG12-26-00417", "EG12-26-0417", "one digit left out"),
    ("slip-doubled", "00005E00534B", "00005EE00534B", "one digit twice"),
    ("formula", "EG12-26-00417", "=A1&B1", "a formula as text"),
    ("formula-error", "EG12-26-00417", "#NAME?", "an error that a formula left"),
    ("too-narrow", "0417733", "######", "the column was too narrow when the file was saved"),
    ("apostrophe-off", "'@0417", "@0417", "the guard was taken off"),
    ("truncated", "stilling well", "stilling", "the end of a name cut off"),
    ("emptied", "00005E00534B", "", "an address deleted"),
    ("added", "probe,0417E12,", "probe,0417E12,00:00:5e:00:53:a3", "an address filled in that the job does not have"),
    ("desk-remarks", "MAR-07,1.10,", "MAR-07,1.10,seen by the desk", "the desk filled in its own column"),
    ("other-value", "EG12-26-00417", "see label", "something else altogether"),
    ("title-changed", "Interface,Address", "Port,Address", "a title renamed"),
    ("heading-changed", "Attached,", "Other equipment,", "a heading renamed"),
]
for each_name, each_old, each_new, each_how in SWAPS:
    CSV[each_name] = swap(each_old, each_new)
    CSV[each_name].__doc__ = each_how


@sheet
def column_shifted(text):
    """the rows of the interfaces shifted one cell to the right from the name on, titles not"""
    records = rows(text)
    top = section(records, "Interface")
    for row in records[top + 1:top + 5]:
        row[2:] = [""] + row[2:-1]
    return put(records)


@sheet
def columns_changed_places(text):
    """two columns of the interfaces changed places, titles too"""
    records = rows(text)
    top = section(records, "Interface")
    for row in records[top:top + 5]:
        row[2], row[3] = row[3], row[2]
    return put(records)


@sheet
def columns_exchanged(text):
    """addresses and check characters of the interfaces exchanged, titles not"""
    records = rows(text)
    top = section(records, "Interface")
    for row in records[top + 1:top + 5]:
        row[3], row[4] = row[4], row[3]
    return put(records)


@sheet
def column_inserted(text):
    """an empty column inserted in front of everything"""
    return put([[""] + row for row in rows(text)])


@sheet
def column_added(text):
    """a column of the desk's own in the middle of the interfaces"""
    records = rows(text)
    top = section(records, "Interface")
    for i, row in enumerate(records):
        row.insert(3, "" if not top <= i < top + 5 else "Seen by" if i == top else "J")
    return put(records)


@sheet
def column_deleted(text):
    """the check characters deleted, title too"""
    records = rows(text)
    top = section(records, "Interface")
    for row in records[top:top + 5]:
        row[4] = ""
    return put(records)


@sheet
def row_lost(text):
    """the row of port2 deleted"""
    return "\r\n".join(line for line in text.split("\r\n") if ",port2," not in line)


@sheet
def row_twice(text):
    """the row of port2 twice"""
    return "\r\n".join(line + "\r\n" + line if ",port2," in line else line for line in text.split("\r\n"))


@sheet
def row_added(text):
    """a device that the job does not have"""
    return text + "TB-90,spare probe,gauge,77,00:00:5e:00:53:a9,\r\n"


@sheet
def rows_swapped(text):
    """the rows of port1 and port2 changed places"""
    records = rows(text)
    top = section(records, "Interface")
    records[top + 2], records[top + 3] = records[top + 3], records[top + 2]
    return put(records)


@sheet
def addresses_swapped(text):
    """the addresses of port1 and port2 changed places, the rows not"""
    records = rows(text)
    top = section(records, "Interface")
    records[top + 2][3], records[top + 3][3] = records[top + 3][3], records[top + 2][3]
    return put(records)


@sheet
def address_of_another_row(text):
    """filled down: port2 got the address of port3"""
    return text.replace("00005E00533C", "00005E00534B")


@sheet
def section_lost(text):
    """everything below the heading of the attached devices cut off"""
    return text[:text.index("Attached")]


@sheet
def sections_in_another_order(text):
    """the attached devices put in front of everything"""
    at = text.index("Attached")
    return text[at:] + text[:at]


@sheet
def row_of_another_site(text):
    """two rows of a site that is none of the jobs"""
    return text + "TB-91,spare probe,gauge,77,00:00:5e:00:53:a9,\r\nTB-91,old probe,gauge,78,00:00:5e:00:53:aa,\r\n"


@sheet
def blank_lines(text):
    """blank lines between the sections"""
    return text.replace("Interfaces,,,,,\r\n", "\r\n\r\nInterfaces,,,,,\r\n")


@sheet
def two_things(text):
    """a slip in one cell and a blank in another"""
    return text.replace("00005E00533C", "00005E00533F").replace("EG12-26-00417", " EG12-26-00417")


# --- workbooks ------------------------------------------------------------------

@book
def untouched(work):
    """opened and saved"""


@book
def number(work):
    """the gauge's serial number as a number"""
    work["Attached"]["F12"] = 417733


@book
def number_that_reads_the_same(work):
    """the row's number as a number"""
    work["Interfaces"]["B2"] = 1


@book
def long_number(work):
    """twenty digits as a number"""
    work["Attached"]["F13"] = 12345678901234567890.0


@book
def date(work):
    """the unit code as a date"""
    work["Station"]["D4"] = datetime.date(2026, 7, 12)


@book
def formula(work):
    """the serial number by a formula"""
    work["Station"]["C9"] = '=CONCATENATE("EG12-26-","00417")'


@book
def error(work):
    """an error in a cell"""
    work["Station"]["C9"] = "#N/A"


@book
def look_alike(work):
    """letter O in an address"""
    work["Interfaces"]["D3"] = "OOOO5E005321"


@book
def emptied(work):
    """an address deleted"""
    work["Interfaces"]["D4"] = None


@book
def row_inserted(work):
    """an empty row inserted above the titles of the attached devices"""
    work["Attached"].insert_rows(11)


@book
def column_inserted(work):
    """an empty column inserted before the addresses of the interfaces"""
    work["Interfaces"].insert_cols(4)


@book
def page_renamed(work):
    """a page renamed"""
    work["Attached"].title = "Devices"


@book
def saved_from_csv(work):
    """no workbook of the desk at all: the CSV sheet opened and saved as one"""
    for name in work.sheetnames:
        del work[name]
    page = work.create_sheet("intact")
    for row in rows(INTACT["text"]):
        page.append([cell or None for cell in row])


@book
def all_on_one_page(work):
    """the sections of three pages put below each other on one, the other pages deleted"""
    page = work["Station"]
    for name in ("Interfaces", "Attached"):
        for row in work[name].iter_rows(values_only=True):
            page.append([None] + list(row))
        del work[name]


@book
def cells_merged(work):
    """the cells of a row merged by a program that leaves what lies under them"""
    work["Interfaces"].merged_cells.add("A4:C4")


@book
def row_deleted(work):
    """the row of port1 deleted"""
    work["Interfaces"].delete_rows(3)


@book
def remark_below(work):
    """a remark of the desk's own below the rows"""
    work["Interfaces"]["A9"] = "checked by the desk"


def prepare(folder):
    """The job, its documents, the desk's template, the intact sheets."""
    for name in ("site.yaml", "four.yaml", "once.yaml", "desk.yaml"):
        shutil.copy(os.path.join(HERE, name), folder)
    sheet_desk.template(sheet_desk.load(os.path.join(HERE, "desk.yaml")), os.path.join(folder, "desk.xlsx"))
    for name in ("intact.csv", "intact.xlsx"):
        status, out, err = sheet_desk.run("sheet", os.path.join(folder, "site.yaml"), "--out", os.path.join(folder, name))
        if status != 0:
            sys.exit("the intact sheet was not written: " + err)
    with open(os.path.join(folder, "intact.csv"), encoding="utf-8", newline="") as file:
        INTACT["text"] = file.read()


def mangle(name, folder):
    """Write the mangled sheet into the folder; its path."""
    if name in BOOK:
        path = os.path.join(folder, name + ".xlsx")
        work = openpyxl.load_workbook(os.path.join(folder, "intact.xlsx"))
        BOOK[name](work)
        work.save(path)
        return path
    made = CSV[name](INTACT["text"])
    path = os.path.join(folder, name + ".csv")
    with open(path, "wb") as file:
        file.write(made if isinstance(made, bytes) else made.encode("utf-8"))
    return path


def said(path, folder):
    """Exit status and what is said of a sheet, a line a finding."""
    status, out, err = sheet_desk.run("sheet", "--verify", path, "--json", os.path.join(folder, "site.yaml"))
    if status == 2:
        return status, ["fault " + err.replace(folder, "FOLDER").strip()]
    lines = []
    for each in json.loads(out)["findings"]:
        place = "!".join(part for part in (each["page"], each["cell"]) if part) or "-"
        line = "%s %s %s %s" % (each["severity"], each["code"], place, each["cause"] or "-")
        if each["seen"] is not None or each["expected"] is not None:
            line += " %s -> %s" % (json.dumps(each["seen"]), json.dumps(each["expected"]))
        else:
            line += " " + each["message"]
        lines.append(line)
    return status, lines


def expectation(name, folder):
    how = (CSV.get(name) or BOOK[name]).__doc__
    status, lines = said(mangle(name, folder), folder)
    return "# %s\nexit %d\n%s" % (how, status, "".join(line + "\n" for line in lines))


def main():
    with tempfile.TemporaryDirectory() as folder:
        prepare(folder)
        for name in list(CSV) + list(BOOK):
            with open(os.path.join(HERE, name + ".expected"), "w", encoding="utf-8") as file:
                file.write(expectation(name, folder))
            if name in CSV:
                shutil.copy(os.path.join(folder, name + ".csv"), HERE)


if __name__ == "__main__":
    main()
