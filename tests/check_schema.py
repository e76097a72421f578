#!/usr/bin/python3
"""sequence.json against docs/sequence.schema.json, which describes it to the last field."""
import copy
import json
import re
import shutil
import subprocess
import sys

sys.dont_write_bytecode = True

from jsonschema import Draft202012Validator  # noqa: E402

from pages import results  # noqa: E402
from pages.tap import Checks, same  # noqa: E402

SCHEMA = results.ROOT / "docs" / "sequence.schema.json"
INVENTED = results.FOLDER / "invented"
OPTIONAL = ("given",)  # its keys are there only if the user said something


def wrong(validator, document):
    return [f"{'.'.join(map(str, error.absolute_path))}: {error.message[:200]}"
            for error in validator.iter_errors(document)]


def invented():
    """Series of every kind, as tests/tool_report_json.c writes them."""
    shutil.rmtree(INVENTED, ignore_errors=True)
    INVENTED.mkdir(parents=True)
    subprocess.run([results.BUILD / "tests" / "tool_report_json", INVENTED], check=True)
    return {path.stem: json.loads(path.read_text("utf-8")) for path in sorted(INVENTED.iterdir())}


def places(schema, root, path=""):
    """Every field of the schema: where it is, and what it may be."""
    if "$ref" in schema:
        schema = {**schema, **root["$defs"][schema["$ref"].rpartition("/")[2]]}
    for choice in schema.get("anyOf", ()):
        yield from places(choice, root, path)
    if schema.get("type") == "object":
        yield path, schema
        for name, field in schema["properties"].items():
            yield from places(field, root, f"{path}.{name}")
    elif schema.get("type") == "array":
        yield from places(schema["items"], root, path + "[]")
    else:
        yield path, schema


def values(document, path=""):
    """Every value of a document, with its place written in the same way."""
    yield path, document
    if isinstance(document, dict):
        for name, value in document.items():
            yield from values(value, f"{path}.{name}")
    elif isinstance(document, list):
        for value in document:
            yield from values(value, path + "[]")


def check_closed(schema):
    """No object takes fields that are not described, and all but the optional ones are required."""
    for path, field in places(schema, schema):
        if field.get("type") == "object":
            same(field["additionalProperties"], False, f"{path} takes others")
            if path.lstrip(".") not in OPTIONAL:
                same(field["required"], list(field["properties"]), f"{path} requires")


def check_described(schema):
    named = [schema, *schema["$defs"].values()]
    while named:
        for name, field in named.pop().get("properties", {}).items():
            assert field.get("description") or "$ref" in field, f"{name} has no description"
            named += [field, field.get("items", {})]


def check_notices(validator, document):
    """In every object of a document one field more is noticed, and one less."""
    whole = copy.deepcopy(document)
    for path, value in values(whole):
        if not isinstance(value, dict):
            continue
        value["unheard_of"] = 1
        assert wrong(validator, whole), f"{path}: a field too many"
        del value["unheard_of"]
        for name in list(value) if path.lstrip(".") not in OPTIONAL else ():
            kept = value.pop(name)
            assert wrong(validator, whole), f"{path}.{name} may be missing"
            value[name] = kept


def shared(path):
    """Contacts are alike, and so are clocks and mountings."""
    return re.sub(r"^\.contacts\.\w+", ".contacts.any", path.replace(".cameras[].", "."))


def check_needed(schema, documents):
    """What the schema allows is there: every field, and null and a value where both may be."""
    seen = {}
    for document in documents:
        for path, value in values(document):
            seen.setdefault(shared(path), set()).add(value is None)
    unused = []
    for path, field in places(schema, schema):
        got = seen.get(shared(path), set())
        allowed = field.get("type")
        nullable = isinstance(allowed, list) and "null" in allowed
        if nullable and True not in got:
            unused.append(f"{path} never null")
        if allowed != "null" and False not in got:
            unused.append(f"{path} never there")
    same(unused, [], "of the schema")


def main():
    checks = Checks()
    schema = json.loads(SCHEMA.read_text("utf-8"))
    Draft202012Validator.check_schema(schema)
    validator = Draft202012Validator(schema)
    documents = invented()
    documents["demo"] = json.loads((results.demo() / "sequence.json").read_text("utf-8"))
    documents["copies"] = json.loads((results.of_copies() / "sequence.json").read_text("utf-8"))
    documents["hostile names"] = json.loads(
        (results.of_hostile()[0] / "sequence.json").read_text("utf-8"))
    for name, document in documents.items():
        checks.run(f"sequence.json, {name}: as the schema has it",
                   lambda: same(wrong(validator, document), [], "not so"))
    checks.run("schema: every object is closed", check_closed, schema)
    checks.run("schema: every field is described", check_described, schema)
    checks.run("schema: a field more or less is noticed", check_notices, validator,
               documents["full"])
    checks.run("schema: allows nothing that is never written", check_needed, schema,
               documents.values())
    return checks.end()


if __name__ == "__main__":
    sys.exit(main())
