"""What cannot be meant in a session file is refused by key path, value and remedy."""

from __future__ import annotations

import pytest
from session_texts import FULL, SMALL

from pullbook.capture.session_file import parse_session
from pullbook.errors import InputError, OutOfRangeError, PullbookError, SessionFileError, UnfinishedError, UnitError


def refused(text: str) -> PullbookError:
    with pytest.raises(PullbookError) as caught:
        parse_session(text)
    assert isinstance(caught.value, InputError)
    assert caught.value.exit_status == 2
    assert caught.value.remedy
    assert "\n" not in str(caught.value)
    return caught.value


def changed(old: str, new: str, *, text: str = FULL) -> str:
    assert text.count(old) >= 1, f"the sample has no {old!r}"
    return text.replace(old, new, 1)


CASES = [
    # a unit that is missing, unknown, of another dimension
    ('pressure = "99.2 kPa"', "pressure = 99.2", UnitError, "pull[1].air.pressure", "the unit is missing"),
    ('pressure = "99.2 kPa"', 'pressure = "99.2"', UnitError, "pull[1].air.pressure", "the unit is missing"),
    ('"99.2 kPa"', '"99.2 kPs"', UnitError, "pull[1].air.pressure", "did you mean 'kPa'"),
    ('humidity = "46 %"', "humidity = 0.46", UnitError, "pull[1].air.humidity", "the unit is missing"),
    ('"99.2 kPa"', '"99.2 degC"', UnitError, "pull[1].air.pressure", "unit of temperature"),
    ('"0.21 kg m^2"', '"0.21"', UnitError, "session.inertia", "the unit is missing"),
    ('"2.2 L"', "2.2", UnitError, "engine.displacement", "the unit is missing"),
    ('"50 min"', "50", UnitError, "factor[1].change", "the unit is missing"),
    ('"2000..6500 rpm"', '"2000..6500"', UnitError, "session.rpm", "the unit is missing"),
    ('"2000..6500 rpm"', '"6500..2000 rpm"', UnitError, "session.rpm", "the range is empty"),
    ('"5000..6500 rpm"]', '"5000 6500 rpm"]', UnitError, "session.windows[2]", "range"),
    ('"8 kW"', '"8 N m"', UnitError, "claim[1].at_least", "unit of torque, but a power"),
    ('"2 lb ft"', '"2 kW"', UnitError, "claim[3].within", "unit of power, but a torque"),
    ('"8 kW"', "8", UnitError, "claim[1].at_least", "the unit is missing"),
    ('unit = "lb ft"', 'unit = "lb"', UnitError, "columns.torque.unit", "unit of mass"),
    ('unit = "lb ft"', 'unit = "V"', UnitError, "columns.torque.unit", "load_signal"),
    ("Engine [rpm]", "Engine [rqm]", UnitError, "columns.speed", "column = 'Engine [rqm]'"),
    # numbers beyond what is possible
    ('"99.2 kPa"', '"9.92 kPa"', OutOfRangeError, "pull[1].air.pressure", "50.0 to 110.0 kPa"),
    ('"24.1 degC"', '"241 degC"', OutOfRangeError, "pull[1].air.temperature", "-40.0 to 70.0 °C"),
    ('"46 %"', '"146 %"', OutOfRangeError, "pull[1].air.humidity", "0.0 to 100.0 %"),
    ('"46 %"', '"0.46 %"', OutOfRangeError, "pull[1].air.humidity", "46 %"),
    ('"2.2 L"', '"2200 L"', OutOfRangeError, "engine.displacement", "100.00 L"),
    ('"85 %"', '"0.85 %"', OutOfRangeError, "engine.mechanical_efficiency", "50.0 to 100.0 %"),
    ('"80..105 degC"', '"80..1050 degC"', OutOfRangeError, "limits.oil_temperature", "200.0 °C"),
    ('"0.21 kg m^2"', '"-0.21 kg m^2"', OutOfRangeError, "session.inertia", "possible"),
    ('"8 kW"', '"1e999 kW"', SessionFileError, "claim[1].at_least", "too large"),
    ('"3 %"', '"300 %"', SessionFileError, "claim[2].at_most", "3 %"),
    # keys
    ("question =", "qestion =", SessionFileError, "session.qestion", "perhaps 'question'"),
    ("displacement =", "displacment =", SessionFileError, "engine.displacment", "perhaps 'displacement'"),
    ("oil_temperature =", "oil_temprature =", SessionFileError, "limits.oil_temprature", "'oil_temperature'"),
    ("[[claim]]", "[[claims]]", SessionFileError, "claims", "perhaps 'claim'"),
    ("refitted = true", "refited = true", SessionFileError, "pull[4].refited", "perhaps 'refitted'"),
    ('at_least = "8 kW"', 'atleast = "8 kW"', SessionFileError, "claim[1].atleast", "perhaps 'at_least'"),
    ('humidity = "46 %"', 'humdity = "46 %"', SessionFileError, "pull[1].air.humdity", "perhaps 'humidity'"),
    ("title =", "#", UnfinishedError, "session.title", "missing"),
    ("standard =", "#", UnfinishedError, "session.standard", 'standard = "SAE J1349"'),
    ('received = "observed"', "", UnfinishedError, "pull[1].received", 'received = "observed"'),
    ('build = "C"', "", UnfinishedError, "pull[4].build", "missing"),
    ('file = "pulls/c1.csv"', "", UnfinishedError, "pull[4].file", "missing"),
    ('quantity = "power"', "", UnfinishedError, "claim[1].quantity", "missing"),
    ('where = "peak"', "", UnfinishedError, "claim[1].where", "missing"),
    # words
    ('"SAE J1349"', '"SAE J1394"', SessionFileError, "session.standard", "perhaps 'SAE J1349'"),
    ('"SAE J1349"', '["SAE J1349", "ISO 1585"]', SessionFileError, "session.standard", "one standard"),
    ('"SAE J607"', '"SAE J670"', SessionFileError, "pull[2].received", "perhaps 'SAE J607'"),
    ('received = "observed"', 'received = "none"', SessionFileError, "session.received", "known"),
    ('dyno = "engine"', 'dyno = "wheels"', SessionFileError, "session.dyno", "engine, chassis"),
    ('"natural"', '"turbo"', SessionFileError, "engine.induction", "turbocharged"),
    ('quantity = "power"', 'quantity = "powr"', SessionFileError, "claim[1].quantity", "perhaps 'power'"),
    ('where = "peak"', 'where = "the top"', SessionFileError, "claim[1].where", "'4200 rpm'"),
    ('where = "peak"', 'where = "1000..3000 rpm"', SessionFileError, "claim[1].where", "2000 to 6500 rpm"),
    ('"2500..3500 rpm"', '"1500..3500 rpm"', SessionFileError, "session.windows[1]", "2000 to 6500 rpm"),
    # types
    ('title = "Runner length and header on a 2.2 litre four"', "title = 3", SessionFileError, "session.title",
     "text is needed, not a number"),
    ("date = 2026-05-04", 'date = "2026-05-04"', SessionFileError, "session.date", "without quotes"),
    ("date = 2026-05-04", "date = 2026-05-04T00:00:00", SessionFileError, "session.date", "not a date with time"),
    ("time = 2026-05-04T09:12:00", 'time = "09:12"', SessionFileError, "pull[1].time", "without quotes"),
    ("time = 2026-05-04T09:12:00", "time = 2026-05-04", SessionFileError, "pull[1].time", "date with time"),
    ("refitted = true", 'refitted = "yes"', SessionFileError, "pull[4].refitted", "true or false is needed"),
    ("which = 1", "which = true", SessionFileError, "pull[2].which", "not true or false"),
    ("which = 1", "which = 0", SessionFileError, "pull[2].which", "from 1"),
    ("strokes = 4", "strokes = 3", SessionFileError, "engine.strokes", "2 or 4"),
    ('["340 mm", "260 mm"]', "[340, 260]", SessionFileError, "factor[1].levels[1]", "text is needed"),
    ("windows = [", "windows = [3, ", SessionFileError, "session.windows[1]", "text is needed"),
    ("[engine]", "[[engine]]", SessionFileError, "engine", "[engine] in single brackets"),
    ('title = "Runner length and header on a 2.2 litre four"', 'title = ""', SessionFileError, "session.title",
     "empty"),
    ('label = "long runners"', 'label = "long\\nrunners"', SessionFileError, "build[1].label", "one line"),
    # factors and builds
    ('name = "header"', 'name = "runners"', SessionFileError, "factor[2].name", "two factors"),
    ('["4-1", "4-2-1"]', '["4-1"]', SessionFileError, "factor[2].levels", "two levels"),
    ('["4-1", "4-2-1"]', '["4-1", "4-1"]', SessionFileError, "factor[2].levels", "twice"),
    ('runners = "340 mm", header = "4-1"', 'runners = "340 mm", header = "4-1-1"', SessionFileError,
     "build[1].levels.header", "perhaps '4-2-1'"),
    ('{ runners = "340 mm", header = "4-1" }', '{ runners = "340 mm" }', UnfinishedError,
     "build[1].levels.header", "missing"),
    ('{ runners = "340 mm", header = "4-1" }', '{ runners = "340 mm", headr = "4-1" }', SessionFileError,
     "build[1].levels.headr", "perhaps 'header'"),
    ('name = "D"', 'name = "C"', SessionFileError, "build[4].name", "two builds"),
    ("baseline = true", "baseline = false", UnfinishedError, "build", "no baseline"),
    ('[[build]]\nname = "B"', '[[build]]\nbaseline = true\nname = "B"', SessionFileError, "build[2].baseline",
     "'A' is the baseline already"),
    # pulls
    ('build = "D"\nfile', 'build = "E"\nfile', SessionFileError, "pull[5].build", "no [[build]] has this name"),
    ('"pulls/a1.csv"', "'pulls\\a1.csv'", SessionFileError, "pull[1].file", "backslashes"),
    ('"pulls/a1.csv"', '"/data/a1.csv"', SessionFileError, "pull[1].file", "absolute"),
    ('"pulls/a1.csv"', '"C:/data/a1.csv"', SessionFileError, "pull[1].file", "absolute"),
    ('"pulls/a1.csv"', '"../a1.csv"', SessionFileError, "pull[1].file", "leaves the session folder"),
    ('"pulls/a1.csv"', '"pulls/../../a1.csv"', SessionFileError, "pull[1].file", "leaves the session folder"),
    ('"pulls/a1.csv"', '"."', SessionFileError, "pull[1].file", "a folder"),
    ("which = 2", "which = 1", SessionFileError, "pull[3].which", "pull[2] is the same pull"),
    ("which = 2", "", SessionFileError, "pull[3].file", "which = 1, which = 2"),
    ('"pulls/c1.csv"', '"./pulls/a1.csv"', SessionFileError, "pull[4].file", "pull[1] has the same file"),
    ("time = 2026-05-04T10:20:00", "time = 2026-05-04T09:25:59", SessionFileError, "pull[4].time", "run order"),
    ("time = 2026-05-04T10:20:00", "", UnfinishedError, "pull[4].time", "some have none"),
    ("time = 2026-05-04T10:20:00", "time = 2026-05-04T10:20:00Z", SessionFileError, "pull[4].time", "zone"),
    ("date = 2026-05-04", "date = 2026-05-05", SessionFileError, "pull[1].time", "2026-05-05"),
    # claims
    ('id = "header-no-loss"', 'id = "short-runners-top"', SessionFileError, "claim[2].id", "two claims"),
    ('of = "B"', 'of = "X"', SessionFileError, "claim[1].of", "no [[build]] has this name"),
    ('of = "B"', 'of = "A"', SessionFileError, "claim[1].of", "itself"),
    ('same_as = { of = "C", from = "A" }', 'same_as = { of = "D", from = "B" }', SessionFileError,
     "claim[3].same_as", "itself"),
    ('same_as = { of = "C", from = "A" }', 'same_as = { of = "C", from = "X" }', SessionFileError,
     "claim[3].same_as.from", "no [[build]] has this name"),
    ('at_least = "8 kW"', "", UnfinishedError, "claim[1]", "not none"),
    ('at_least = "8 kW"', 'at_least = "8 kW"\nwithin = "9 kW"', SessionFileError, "claim[1]",
     "not at_least and within"),
    ('within = "2 lb ft"', 'within = "0 lb ft"', SessionFileError, "claim[3].within", "zero"),
]  # fmt: skip


@pytest.mark.parametrize(("old", "new", "kind", "place", "said"), CASES)
def test_what_cannot_be_meant_is_refused_by_key_value_and_remedy(
    old: str, new: str, kind: type[PullbookError], place: str, said: str
) -> None:
    error = refused(changed(old, new))
    assert type(error) is kind
    assert error.where == f"session.toml: {place}"
    assert said in str(error)


def test_a_build_without_pulls_is_refused() -> None:
    error = refused(SMALL + '[[build]]\nname = "C"\n')
    assert error.where == "session.toml: build[3]"
    assert "no pulls ('C')" in str(error)


def test_a_claim_about_a_build_that_was_not_run_is_refused_as_such() -> None:
    claim = '[[build]]\nname = "C"\n[[claim]]\nid = "c"\nsays = "C gains"\nof = "C"\nfrom = "A"\n'
    error = refused(SMALL + claim + 'quantity = "torque"\nwhere = "peak"\nat_least = "1 N m"\n')
    assert error.where == "session.toml: claim[1].of"
    assert "was not run" in str(error)


def test_a_session_without_its_table_builds_or_pulls_is_refused() -> None:
    assert "[session] is missing" in str(refused(""))
    head = SMALL.split("[[build]]", maxsplit=1)[0]
    assert "no builds" in str(refused(head))
    assert "no pulls" in str(refused(SMALL.split("[[pull]]", maxsplit=1)[0]))
    assert "double brackets" in str(refused(head + "[build]\nname = 'A'"))
    assert "[session] in single brackets" in str(refused("[[session]]\ntitle = 'x'"))


def test_levels_without_factors_are_refused() -> None:
    error = refused(SMALL.replace("baseline = true", 'baseline = true\nlevels = { runners = "340 mm" }'))
    assert error.where == "session.toml: build[1].levels"
    assert "no factors" in str(error)


def test_friction_points_stand_by_rising_speed() -> None:
    error = refused(changed('speed = "6000 rpm"', 'speed = "3000 rpm"'))
    assert error.where == "session.toml: engine.friction[2].speed"


def test_one_column_is_one_channel() -> None:
    error = refused(changed('mixture = "Lambda 1"', 'power = "Torque"'))
    assert error.where == "session.toml: columns.power"
    assert "torque already" in str(error)


def test_only_the_first_error_is_named_and_always_the_same_one() -> None:
    text = changed("displacement =", "displacment =", text=changed('"99.2 kPa"', '"99.2"'))
    assert len({str(refused(text)) for _ in range(5)}) == 1


@pytest.mark.parametrize(
    ("line", "place", "said"),
    [
        ("pressure = 99.2 kPa", "line 2, column 17", "between double quotes"),
        ("title = runners", "line 2, column 9", "between double quotes"),
        ('file = "pulls\\a1.csv"', "line 2, column ", "forward slashes"),
        ("title 5", "line 2, column 7", "key = value"),
        ('title = "a"\ntitle = "b"', "line 3, column ", "once"),
        ("date = 2026-13-04", "line 2, column 12", "2026-05-04"),
        ('title = "open', "line 2, column ", "close the"),
        ("[session]", "line 2, column ", "double brackets"),
    ],
)
def test_a_syntax_error_names_line_column_and_remedy(line: str, place: str, said: str) -> None:
    error = refused(f"[session]\n{line}\n")
    assert error.where.startswith(f"session.toml: {place}")
    assert said in error.remedy
    assert error.value in f"[session]\n{line}\n"


def test_text_that_would_break_the_parser_is_refused_too() -> None:
    assert "nested too deeply" in str(refused("a = " + "[" * 5000))
    assert "far too long" in str(refused("a = " + "9" * 5000))
    assert "\x00" not in str(refused("[session]\ntitle = 'a\x00b'"))
