"""Fills fields of a print with the package `pypdf`, reads them back with it, and writes the file anew or behind the old."""
import sys
from pypdf import PdfReader, PdfWriter

source, target, how = sys.argv[1:]
wanted = {"s1.initials": "A. B.", "s8.name": "Ada Byron", "s2.tick": "/Yes"}
writer = PdfWriter(source, incremental=how == "behind") if how == "behind" else PdfWriter(clone_from=source)
for page in writer.pages:
    if "/Annots" in page:
        writer.update_page_form_field_values(page, wanted, auto_regenerate=False)
with open(target, "wb") as out:
    writer.write(out)
fields = PdfReader(target).get_fields()
for name, value in wanted.items():
    assert fields[name]["/V"] == value, (name, fields[name])
assert sum(1 for f in fields.values() if f.get("/V") not in (None, "", "/Off")) == len(wanted)
