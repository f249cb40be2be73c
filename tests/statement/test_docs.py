"""docs/statement.md documents exactly the keys that are written."""

import json
import re
from pathlib import Path
from typing import Any

from tests.statement.test_json import CHECK, SCHEMA
from tests.statements import ALL
from tuneledger.statement.json import as_json

PAGE = (Path(__file__).parents[2] / "docs" / "statement.md").read_text(encoding="utf-8")

# Heading → where its keys stand in the schema.
SECTIONS = {
    "The statement itself": SCHEMA,
    "`logs[]`": SCHEMA["$defs"]["log"],
    "`roles.*`": SCHEMA["$defs"]["roles"]["additionalProperties"],
    "`running`": SCHEMA["$defs"]["running"],
    "`running.ranking[]`": SCHEMA["$defs"]["running"]["properties"]["ranking"]["items"],
    "`running.spans[]`": SCHEMA["$defs"]["running"]["properties"]["spans"]["items"],
    "`episodes[]`": SCHEMA["$defs"]["episode"],
    "`episodes[].entries[]`": SCHEMA["$defs"]["episode"]["properties"]["entries"]["items"],
    "`causes[]`": SCHEMA["$defs"]["cause"],
    "`causes[].rule` and `causes[].alternatives[]`": SCHEMA["$defs"]["rule"],
    "`causes[].rule.along`": SCHEMA["$defs"]["rule"]["properties"]["along"],
    "`causes[].cells[]`": SCHEMA["$defs"]["cause"]["properties"]["cells"]["items"],
    "`needs[]`": SCHEMA["properties"]["needs"]["items"],
}
# Written only where there is something to say; no hand-made statement needs them.
SELDOM = {"logs[].roles", "episodes[].regimes", "causes[].rule.ramp"}


def documented() -> dict[str, list[str]]:
    parts = re.split(r"^## (.+)$", PAGE, flags=re.MULTILINE)
    sections = zip(parts[1::2], parts[2::2], strict=True)
    keys = {title: re.findall(r"^\| `(\w+)` \|", text, re.MULTILINE) for title, text in sections}
    return {title: found for title, found in keys.items() if found}


def test_every_key_of_the_schema_is_documented_in_its_order_and_no_other() -> None:
    assert documented() == {title: list(part["properties"]) for title, part in SECTIONS.items()}


def written(value: Any, path: str = "") -> set[str]:
    """The paths of all keys in a value: `causes[].rule.when`."""
    if isinstance(value, list):
        return {found for item in value for found in written(item, f"{path}[]")}
    if not isinstance(value, dict):
        return set()
    below = path.endswith("roles") or path.endswith("when[]")
    found = set()
    for key, item in value.items():
        here = path + (".*" if below else f".{key}") if path else key
        found |= ({here} if not below else set()) | written(item, here)
    return found


def test_every_documented_key_is_written_and_every_written_one_documented() -> None:
    rendered = {path for make in ALL.values() for path in written(as_json(make()))}
    rendered = {re.sub(r"alternatives\[\]", "rule", path) for path in rendered}
    promised = set()
    for title, keys in documented().items():
        base = re.findall(r"`([^`]+)`", title)
        prefix = f"{base[0]}." if base else ""
        promised |= {prefix + key for key in keys}
    assert promised - rendered == SELDOM
    assert rendered - promised == set()


def test_the_example_is_a_statement() -> None:
    (text,) = re.findall(r"```json\n(.*?)```", PAGE, re.DOTALL)
    example = json.loads(text)
    CHECK.validate(example)
    made = as_json(ALL["other_revision"]())
    assert list(example) == list(made)
    assert list(example["causes"][0]) == list(made["causes"][0])
    assert list(example["episodes"][0]) == list(made["episodes"][0])


def test_a_schema_that_checks_nothing_would_be_noticed() -> None:
    value = as_json(ALL["hidden_rule"]())
    for spoil in (
        lambda v: v.pop("verdict"),
        lambda v: v.update(verdict="fine"),
        lambda v: v["causes"][0].pop("rule"),
        lambda v: v["causes"][0]["rule"].update(along={}),
        lambda v: v["episodes"][0].update(regime="flying"),
        lambda v: v["causes"][0].update(certainty=1.2),
        lambda v: v.update(extra=1),
    ):
        bad = json.loads(json.dumps(value))
        spoil(bad)
        assert not CHECK.is_valid(bad)
