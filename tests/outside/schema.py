"""Validates a document against a schema with the package `jsonschema`; the schema itself must be one."""
import json
import sys
from jsonschema import Draft202012Validator

schema, document = (json.load(open(path, encoding="utf-8")) for path in sys.argv[1:])
Draft202012Validator.check_schema(schema)
errors = [f"{list(e.path)}: {e.message[:200]}" for e in Draft202012Validator(schema).iter_errors(document)]
if errors:
    sys.exit("\n".join(errors[:10]))
