"""What the package `pypdf` reads of a print beside its pages, as JSON: attachments, metadata, labels, fields."""
import json
import sys
from pypdf import PdfReader

reader = PdfReader(sys.argv[1])
root = reader.trailer["/Root"]
attachments = {}
for name, file in zip(*[iter(root["/Names"]["/EmbeddedFiles"]["/Names"])] * 2):
    file = file.get_object()
    content = file["/EF"]["/F"]
    assert file["/UF"] == file["/F"] == name, name
    attachments[name] = {
        "hex": reader.attachments[name][0].hex(),
        "relation": file["/AFRelationship"],
        "about": file["/Desc"],
        "mime": content["/Subtype"],
        "date": content["/Params"]["/ModDate"],
    }
    assert content["/Params"]["/Size"] == len(reader.attachments[name][0]), name
fields = {
    name: {"kind": f["/FT"], "words": f.get("/TU"), "value": f.get("/V")} for name, f in (reader.get_fields() or {}).items() if "/FT" in f
}
widgets = [a.get_object() for page in reader.pages for a in page.get("/Annots", []) if a.get_object()["/Subtype"] == "/Widget"]
xmp = reader.xmp_metadata
print(json.dumps({
    "attachments": attachments,
    "associated": len(root["/AF"]),
    "info": {k: str(v) for k, v in reader.metadata.items()},
    "xmp": {
        "title": xmp.dc_title["x-default"],
        "subject": xmp.dc_description["x-default"],
        "producer": xmp.pdf_producer,
        "created": str(xmp.xmp_create_date),
        "modified": str(xmp.xmp_modify_date),
    },
    "language": root["/Lang"],
    "shows_title": bool(root["/ViewerPreferences"]["/DisplayDocTitle"]),
    "labels": reader.page_labels,
    "fields": fields,
    "widgets": len(widgets),
    "tab_orders": sorted({page.get("/Tabs", "none") for page in reader.pages}),
    "need_appearances": root["/AcroForm"].get("/NeedAppearances"),
}))
