"""`assess_axis FILE`: its answer, its exit status, and what it says of inputs that cannot be used."""

import io
import json
import subprocess
import sys
from pathlib import Path

import pytest
from django.core.management import CommandError, call_command

ROOT = Path(__file__).parent.parent.parent
KEYS = [
    "n", "mean_deviation", "standard_deviation", "standard_uncertainty", "degrees_of_freedom",
    "expanded_uncertainty", "decision", "reason", "more_readings", "fit", "correction",
]  # fmt: skip


def given(**changes):
    asked = {
        "unit": "mm",
        "tolerance": 0.5,
        "instrument": {"expanded_uncertainty": 0.10, "coverage_factor": 2, "resolution": 0.05},
        "readings": [{"nominal": 1200, "measured": 1200.1}, {"nominal": 1200, "measured": 1200.2}],
    }
    return {name: value for name, value in (asked | changes).items() if value is not ...}


def instrument(**changes):
    return {"expanded_uncertainty": 0.10, "coverage_factor": 2, "resolution": 0.05} | changes


@pytest.fixture
def run(tmp_path, capsys):
    def run(asked, *options):
        file = tmp_path / "axis.json"
        file.write_text(asked if isinstance(asked, str) else json.dumps(asked), encoding="utf-8")
        call_command("assess_axis", str(file), *options)
        return capsys.readouterr().out

    return run


def refused(run, asked, capsys):
    with pytest.raises(CommandError) as error:
        run(asked, "--format", "json")
    assert error.value.returncode == 2
    assert capsys.readouterr().out == ""
    return str(error.value)


def test_the_answer_has_exactly_the_members_promised(run):
    said = json.loads(run(given(), "--format", "json"))
    assert list(said) == KEYS
    assert list(said["correction"]) == ["offset", "scale", "scale_significant"]
    assert said["decision"] == "leave"
    assert said["mean_deviation"] == 0.15
    three = [{"nominal": n, "measured": n + 1 + n / 1000} for n in (1000, 2000, 3000)]
    fit = json.loads(run(given(readings=three), "--format", "json"))["fit"]
    assert list(fit) == ["intercept", "slope", "se_intercept", "se_slope", "residual_sd", "df"]


def test_numbers_are_read_as_decimals_and_deviations_are_exact(run):
    many = [{"nominal": 1200, "measured": 1200.1}] * 3
    asked = given(readings=many, tolerance=0.1, instrument=instrument(expanded_uncertainty=0, resolution=0))
    said = json.loads(run(asked, "--format", "json"))
    assert (said["mean_deviation"], said["standard_deviation"], said["decision"]) == (0.1, 0.0, "leave")
    assert said["degrees_of_freedom"] is None


def test_inches_may_be_typed_as_fractions(run):
    pieces = [{"nominal": "92 5/8", "measured": "92 11/16"}, {"nominal": "92⅝", "measured": 92.6875}]
    said = json.loads(run(given(unit="in", readings=pieces, tolerance="1/8"), "--format", "json"))
    assert said["mean_deviation"] == 0.0625


def test_texts_of_digits_and_a_repeated_unit_are_taken(run):
    pieces = [
        {"nominal": "1200", "measured": "1200.3", "unit": "mm"},
        {"nominal": "1200 mm", "measured": "-0.5"},
    ]
    asked = given(
        readings=pieces, instrument=instrument(unit="mm", coverage_factor="2"), note="after the jam"
    )
    assert json.loads(run(asked, "--format", "json"))["n"] == 2


def test_the_default_is_text_for_reading(run):
    assert run(given()).startswith("LEAVE\n")


def test_standard_input_is_read_for_a_dash(capsys, monkeypatch):
    monkeypatch.setattr("sys.stdin", io.TextIOWrapper(io.BytesIO(json.dumps(given()).encode())))
    call_command("assess_axis", "-", "--format", "json")
    assert json.loads(capsys.readouterr().out)["n"] == 2
    monkeypatch.setattr("sys.stdin", io.StringIO("[]"))
    with pytest.raises(CommandError, match="standard input: the input: is an empty list"):
        call_command("assess_axis", "-")


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"tolerance": 0}, "tolerance: is 0. Right would be a number above 0"),
        ({"tolerance": -0.5}, "tolerance: is -0.5"),
        ({"tolerance": None}, "tolerance: is null"),
        ({"tolerance": True}, "tolerance: is true. Right would be a finite number"),
        ({"tolerance": ...}, "tolerance: is missing"),
        ({"unit": "cm"}, "unit: is 'cm'. Right would be one of 'mm', 'in', 'deg'"),
        ({"unit": ["mm"]}, "unit: is a list"),
        ({"unit": ...}, "unit: is missing"),
        ({"readings": []}, "readings: is an empty list. Right would be a list of at least one"),
        ({"readings": {}}, "readings: is an object"),
        ({"readings": ...}, "readings: is missing"),
        ({"readings": [5]}, "readings[0]: is 5. Right would be an object with nominal and measured"),
        ({"readings": [{"nominal": 1}]}, "readings[0].measured: is missing"),
        ({"readings": [{"nominal": 1, "measured": None}]}, "readings[0].measured: is null"),
        ({"readings": [{"nominal": 1, "measured": "1,5"}]}, "readings[0].measured: '1,5' has a comma"),
        ({"readings": [{"nominal": 1, "measured": "1 1/2"}]}, "millimetres are decimal"),
        (
            {"readings": [{"nominal": 1, "measured": 2, "unit": "in"}]},
            "readings[0].unit: is 'in' while the input",
        ),
        ({"readings": [{"nominal": "1 in", "measured": 2}]}, "is in inches where millimetres belong"),
        (
            {"readings": [{"nominal": 1, "mesured": 2}]},
            "readings[0].mesured: is unknown here. Right would be 'measured'",
        ),
        ({"instrument": ...}, "instrument: is missing"),
        ({"instrument": None}, "instrument: is null"),
        (
            {"instrument": instrument(coverage_factor=0)},
            "instrument.coverage_factor: is 0. Right would be a number above",
        ),
        ({"instrument": instrument(coverage_factor=-2)}, "instrument.coverage_factor: is -2"),
        (
            {"instrument": instrument(expanded_uncertainty=-0.1)},
            "instrument.expanded_uncertainty: is -0.1, below zero",
        ),
        ({"instrument": instrument(resolution=-0.05)}, "instrument.resolution: is -0.05, below zero"),
        (
            {"instrument": {"expanded_uncertainty": 0.1, "coverage_factor": 2}},
            "instrument.resolution: is missing",
        ),
        (
            {"instrument": instrument(unit="in")},
            "instrument.unit: is 'in' while the input is in 'mm': mixed units",
        ),
        ({"tolerence": 1}, "tolerence: is unknown here. Right would be 'tolerance', if that was meant"),
    ],
)
def test_an_input_that_cannot_be_used_names_the_field_and_what_would_be_right(run, capsys, changes, said):
    assert said in refused(run, given(**changes), capsys)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "is empty"),
        ("{", "line 1, column 2: is not JSON"),
        ("[]", "the input: is an empty list. Right would be an object with unit, tolerance"),
        ("3", "the input: is 3"),
        ('{"unit": "mm", "unit": "in"}', "unit: is given more than once"),
        (json.dumps(given(tolerance=float("nan"))), "tolerance: is NaN. Right would be a finite number"),
        (json.dumps(given(tolerance=float("inf"))), "tolerance: is Infinity"),
        (
            json.dumps(given()).replace("0.5", "1e400", 1),
            "tolerance: is 1E+400. Right would be a number below",
        ),
        (json.dumps(given()).replace("0.5", "1e-999999999", 1), "tolerance: is 1E-999999999"),
        (json.dumps(given()).replace("0.5", "9" * 5000, 1), "tolerance: is 9999"),
        ("[" * 100_000, "is nested too deep"),
    ],
)
def test_a_text_that_is_no_such_json_is_refused(run, capsys, text, said):
    assert said in refused(run, text, capsys)


def test_all_faults_of_an_input_are_told_at_once_but_not_without_end(run, capsys):
    said = refused(run, given(unit="cm", tolerance=0, readings=[]), capsys)
    assert said.count("Right would be") == 3
    many = refused(run, given(readings=[{}] * 1000), capsys)
    assert "… and 1950 more of the kind." in many


def test_a_file_that_is_not_there_or_not_text_is_refused(tmp_path):
    for file in (tmp_path / "none.json", tmp_path):
        with pytest.raises(CommandError, match="cannot be read") as error:
            call_command("assess_axis", str(file))
        assert error.value.returncode == 2
    (tmp_path / "latin.json").write_bytes(b'{"unit": "\xb5"}')
    with pytest.raises(CommandError, match="is not UTF-8"):
        call_command("assess_axis", str(tmp_path / "latin.json"))


def test_as_a_process_it_keeps_errors_off_standard_output(tmp_path):
    def run(text, *options):
        command = [sys.executable, "manage.py", "assess_axis", "-", "--format", "json", *options]
        return subprocess.run(command, cwd=ROOT, input=text, capture_output=True, text=True, check=False)

    good = run(json.dumps(given(readings=[{"nominal": 1, "measured": 2}])))
    assert (good.returncode, json.loads(good.stdout)["decision"], good.stderr) == (0, "measure again", "")
    bad = run(json.dumps(given(tolerance=-1)))
    assert (bad.returncode, bad.stdout) == (2, "")
    assert "tolerance: is -1. Right would be a number above 0." in bad.stderr
    assert run("{}", "--format", "yaml").returncode == 2
    helped = run("", "--help")
    assert '"more_readings"' in helped.stdout
