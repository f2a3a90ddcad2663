"""findings.json: the form of the findings, and the published schema."""

from __future__ import annotations

import json
import re
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

import jsonschema
import numpy as np
import pytest
from builders import make_bandless_findings, make_findings, make_relative_findings, make_result, torque_of

from pullbook.records.codec import SCHEMA, findings_to_json
from pullbook.records.curve import CurveBand
from pullbook.records.taught import SOURCES, Taught

if TYPE_CHECKING:
    from pullbook.records.result import SessionResult

ROOT = Path(__file__).resolve().parents[3]
SCHEMA_FILE = ROOT / "docs" / "findings.schema.json"
DATE_FORMAT = jsonschema.FormatChecker(formats=["date"])


def absolute() -> SessionResult:
    return make_result()


def relative() -> SessionResult:
    return make_result(names="AB", findings=make_relative_findings(), findings_with_all=None)


def bandless() -> SessionResult:
    return make_result(names="AB", findings=make_bandless_findings(), findings_with_all=make_bandless_findings())


KINDS = pytest.mark.parametrize("make", [absolute, relative, bandless], ids=["absolute", "relative", "without bands"])


def written(result: SessionResult) -> dict[str, Any]:
    """What a reader of the file gets."""
    text = json.dumps(findings_to_json(result), allow_nan=False)
    read: dict[str, Any] = json.loads(text)
    return read


@pytest.fixture(scope="module")
def validator() -> Any:
    schema = json.loads(SCHEMA_FILE.read_text(encoding="utf-8"))
    jsonschema.Draft202012Validator.check_schema(schema)
    return jsonschema.Draft202012Validator(schema, format_checker=DATE_FORMAT)


@KINDS
def test_findings_of_every_kind_keep_to_the_published_schema(make: Any, validator: Any) -> None:
    errors = [f"{error.json_path}: {error.message}" for error in validator.iter_errors(written(make()))]
    assert errors == []


def unlike(places: list[tuple[str, dict[str, Any]]]) -> list[tuple[str, dict[str, Any]]]:
    """One object of each kind: the first of a list stands for the others."""
    return list({re.sub(r"\[\d+\]", "[]", path): (path, node) for path, node in reversed(places)}.values())


def every_object(node: Any, path: str = "$") -> list[tuple[str, dict[str, Any]]]:
    if isinstance(node, dict):
        below = [found for key, value in node.items() for found in every_object(value, f"{path}.{key}")]
        return [(path, node), *below]
    if isinstance(node, list):
        return [found for at, value in enumerate(node[:2]) for found in every_object(value, f"{path}[{at}]")]
    return []


def shortened(node: Any) -> Any:
    """The document with two entries of each list, because thousands of validations follow."""
    if isinstance(node, dict):
        return {key: shortened(value) for key, value in node.items()}
    return [shortened(value) for value in node[:2]] if isinstance(node, list) else node


def test_schema_refuses_an_unknown_key_in_every_object_of_the_file(validator: Any) -> None:
    document = shortened(written(absolute()))
    places = [path for path, _ in every_object(document)]
    assert len(places) > 60
    for path, node in every_object(document):
        if path.endswith(".levels"):
            continue  # the tester's own factor names are its keys
        node["unheard_of"] = 1
        assert not validator.is_valid(document), path
        del node["unheard_of"]
    assert validator.is_valid(document)


def test_schema_misses_every_key_that_is_left_out_except_what_a_claim_of_another_session_asks(validator: Any) -> None:
    document = shortened(written(absolute()))
    optional = {
        "of", "from", "same_as", "quantity", "from_rpm", "to_rpm", "limit_unit", "at_least", "at_most", "within",
    }  # fmt: skip
    for path, node in unlike(every_object(document)):
        if path.endswith(".levels"):
            continue
        for key in list(node):
            if "claims[" in path and key in optional:
                continue
            value = node.pop(key)
            assert not validator.is_valid(document), f"{path}.{key}"
            node[key] = value


def properties_of(node: Any) -> set[str]:
    if isinstance(node, dict):
        own = set(node.get("properties", {}))
        return own.union(*(properties_of(value) for value in node.values()))
    return set().union(*(properties_of(value) for value in node)) if isinstance(node, list) else set()


def test_every_key_of_the_schema_is_written_by_the_code(validator: Any) -> None:
    beliefs = dict.fromkeys(SOURCES, (-1.0, 0.5))
    document = written(replace(absolute(), taught=Taught(sessions=3, beliefs=beliefs, says=("Learnt.",))))
    assert validator.is_valid(document)
    keys = {key for _, node in every_object(document) for key in node}
    assert properties_of(validator.schema) - keys == set()


def test_file_has_the_keys_of_the_contract() -> None:
    # Source: the project's design, section 3, where the form of the file is given by example.
    document = written(absolute())
    assert document["schema"] == SCHEMA == "pullbook.findings/1"
    assert document["confidence"] == 0.95
    assert document["standard"] == "SAE J1349"
    assert document["grid_rpm"][:2] == [2000, 2050]
    assert {"sd_percent": 0.42, "r_percent": 1.18, "from_archive": False}.items() <= document["repeatability"].items()
    first = document["builds"][0]
    assert (first["name"], first["pulls"]) == ("A", 3)
    assert set(first["torque"]) == set(first["power"]) == {"unit", "mean", "low", "high"}
    assert {"value", "low", "high", "rpm", "rpm_low", "rpm_high"} <= set(first["peak_torque"])
    difference = document["differences"][0]
    assert (difference["of"], difference["from"]) == ("B", "A")
    assert {"rpm", "low", "high", "sign_above"} <= set(difference["crossovers"][0])
    assert {"from_rpm", "to_rpm", "torque", "power", "percent"} <= set(difference["windows"][0])
    assert {"factor", "from", "to", "torque", "interaction_with"} <= set(document["effects"][0])
    claim = document["claims"][0]
    assert (claim["id"], claim["verdict"], claim["unit"]) == ("short-runners-top", "supported", "kW")
    assert (claim["estimate"], claim["low"], claim["high"]) == (9.1, 8.2, 10.0)
    assert {"pull", "check", "level", "says"} <= set(document["checks"][0])
    assert {"what", "why"} == set(document["refusals"][0])


def test_power_is_written_in_kilowatts_and_agrees_with_torque_times_speed() -> None:
    document = written(absolute())
    torque, power = document["builds"][0]["torque"], document["builds"][0]["power"]
    assert (torque["unit"], power["unit"]) == ("N m", "kW")
    speed = np.array(document["grid_rpm"])
    # P[kW] = T[N m] n[rpm] / 9549.29658551, which is 60 000 / (2 pi), exact.
    np.testing.assert_allclose(power["mean"], np.array(torque["mean"]) * speed / 9549.29658551, rtol=1e-9)


def test_numbers_have_ten_significant_digits() -> None:
    value = written(absolute())["builds"][0]["torque"]["mean"][7]
    truth = float(torque_of("A", np.array([2350.0]))[0])
    assert value == pytest.approx(truth, rel=1e-9)
    assert value == float(f"{truth:.10g}")


def test_not_measured_is_null_and_never_nan() -> None:
    findings = make_findings()
    torque = findings.builds[1].torque
    mean = np.array(torque.mean)
    mean[:3] = np.nan
    gap = replace(findings.builds[1], torque=CurveBand(mean=mean, low=torque.low, high=np.full(mean.shape, np.inf)))
    document = written(make_result(findings=replace(findings, builds=(findings.builds[0], gap, *findings.builds[2:]))))
    assert document["builds"][1]["torque"]["mean"][:4] == [None, None, None, pytest.approx(mean[3], rel=1e-9)]
    assert set(document["builds"][1]["torque"]["high"]) == {None}


def test_relative_session_has_per_cent_and_no_power_anywhere() -> None:
    document = written(relative())
    assert document["torque_kind"] == "relative"
    assert document["reference_torque"]["unit"] == "signal"
    assert {build["torque"]["unit"] for build in document["builds"]} == {"%"}
    powers = [node["power"] for _, node in every_object(document) if "power" in node]
    assert powers
    assert set(powers) == {None}


def test_session_without_bands_has_no_low_and_no_high() -> None:
    document = written(bandless())
    assert document["has_bands"] is False
    assert document["repeatability"] is None
    for part in (*document["builds"], *document["differences"]):
        assert set(part["torque"]["low"]) == set(part["torque"]["high"]) == {None}


def test_left_out_pull_is_told_with_its_reason_and_its_rows() -> None:
    pulls = {pull["pull"]: pull for pull in written(absolute())["provenance"]["pulls"]}
    spoilt = pulls["pulls/b3.csv"]
    assert (spoilt["used"], spoilt["because"]) == (False, "torque jumps at 4180 rpm")
    assert (spoilt["first_row"], spoilt["last_row"]) == (2, spoilt["samples"] + 1)
    assert pulls["pulls/a1.csv"]["used"] is True


def test_every_pull_is_traced_to_a_file_with_its_hash_and_to_its_recipe() -> None:
    provenance = written(absolute())["provenance"]
    names = [file["name"] for file in provenance["files"]]
    assert names == sorted(names)
    assert {pull["file"] for pull in provenance["pulls"]} == set(names)
    assert all(len(file["sha256"]) == 64 and file["bytes"] > 0 for file in provenance["files"])
    assert {step["name"] for step in provenance["pulls"][0]["recipe"]} == {"dry-air pressure", "correction factor"}
    assert provenance["pulls"][0]["columns"][1] == {
        "channel": "torque", "column": "Torque", "unit": "N m", "reason": "its name and unit say so",
    }  # fmt: skip


def test_seed_of_64_bits_keeps_all_its_digits() -> None:
    # A JSON number beyond 2^53 loses digits in readers that keep doubles.
    assert written(make_result(findings=make_findings(seed=2**63 - 25)))["seed"] == "9223372036854775783"


def test_findings_with_all_pulls_are_there_when_one_was_left_out_and_null_otherwise() -> None:
    assert {"builds", "claims", "differences"} <= set(written(absolute())["findings_with_all"])
    assert written(make_result(findings_with_all=None))["findings_with_all"] is None


def test_limit_of_a_claim_is_written_in_the_unit_beside_it() -> None:
    claims = {claim["id"]: claim for claim in written(absolute())["claims"]}
    top = claims["short-runners-top"]
    assert (top["at_least"], top["limit_unit"], top["from_rpm"]) == (8.0, "kW", None)
    middle = claims["short-runners-middle"]
    assert (middle["at_least"], middle["limit_unit"], middle["from_rpm"], middle["to_rpm"]) == (0.5, "N m", 3500, 5000)


def test_effect_names_the_factor_that_certainly_changes_it() -> None:
    findings = make_findings()
    certain = replace(findings.interactions[0], differs=True, differs_from_rpm=3000.0, differs_to_rpm=3600.0)
    document = written(make_result(findings=replace(findings, interactions=(certain,))))
    assert [effect["interaction_with"] for effect in document["effects"]] == ["header", "runners"]
    assert {effect["interaction_with"] for effect in written(absolute())["effects"]} == {None}


def test_same_result_gives_the_same_text() -> None:
    assert json.dumps(findings_to_json(make_result())) == json.dumps(findings_to_json(make_result()))
