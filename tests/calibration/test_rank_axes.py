"""`rank_axes FILE`: its answer, its exit status, and what it says of inputs that cannot be used."""

import json
import subprocess
import sys
from pathlib import Path

import pytest
from django.core.management import CommandError, call_command

ROOT = Path(__file__).parent.parent.parent


def given(**changes):
    asked = {
        "features": [
            {"name": "diagonal", "deviation": 0.8, "standard_uncertainty": 0.1},
            {"name": "end", "deviation": 0.4, "standard_uncertainty": 0.1},
            {"name": "length", "deviation": 0.05, "standard_uncertainty": 0.1},
        ],
        "axes": ["infeed", "angle"],
        "sensitivities": {
            "diagonal": {"angle": 1, "infeed": 1},
            "end": {"angle": 0.5},
            "length": {"infeed": 1},
        },
    }
    return {name: value for name, value in (asked | changes).items() if value is not ...}


def feature(name="diagonal", **changes):
    return {"name": name, "deviation": 0.8, "standard_uncertainty": 0.1} | changes


@pytest.fixture
def run(tmp_path, capsys):
    def run(asked, *options):
        file = tmp_path / "pieces.json"
        file.write_text(asked if isinstance(asked, str) else json.dumps(asked), encoding="utf-8")
        call_command("rank_axes", str(file), *options)
        return capsys.readouterr().out

    return run


def test_the_answer_has_exactly_the_members_promised(run):
    said = json.loads(run(given(), "--format", "json"))
    assert list(said) == ["axes", "verdict", "pair", "pair_fit", "try_first", "reason"]
    assert list(said["axes"][0]) == ["axis", "error", "standard_uncertainty", "chi2", "dof", "p_value"]
    assert [axis["axis"] for axis in said["axes"]] == ["angle", "infeed"]
    assert said["verdict"] == "angle"


def test_one_feature_is_tried_with_the_angle_first_or_in_the_order_given(run):
    asked = given(features=[feature()], sensitivities={"diagonal": {"angle": 1, "infeed": 1}})
    said = json.loads(run(asked, "--format", "json"))
    assert (said["verdict"], said["try_first"]) == ("undetermined", ["angle", "infeed"])
    ordered = json.loads(run(asked | {"order": ["infeed", "angle"]}, "--format", "json"))
    assert ordered["try_first"] == ["infeed", "angle"]


def test_the_default_is_text_for_reading(run):
    assert run(given()).startswith("Verdict: angle\n")


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"features": []}, "features: is an empty list"),
        ({"features": ...}, "features: is missing"),
        ({"features": [5]}, "features[0]: is 5"),
        ({"features": [feature(), feature()]}, "features[1].name: is 'diagonal' a second time"),
        ({"features": [feature(name=3)]}, "features[0].name: is 3"),
        ({"features": [feature(name=" a")]}, "without spaces at its ends"),
        (
            {"features": [feature(standard_uncertainty=0)]},
            "features[0].standard_uncertainty: is 0. Right would be a number above 0",
        ),
        ({"features": [feature(standard_uncertainty=-1)]}, "features[0].standard_uncertainty: is -1"),
        ({"features": [feature(deviation=None)]}, "features[0].deviation: is null"),
        ({"features": [feature(deviation=float("nan"))]}, "features[0].deviation: is NaN"),
        ({"features": [feature(deviation="1/8")]}, "features[0].deviation: is '1/8'"),
        ({"features": [feature(deviation=True)]}, "features[0].deviation: is true"),
        (
            {"features": [{"name": "diagonal", "deviation": 1}]},
            "features[0].standard_uncertainty: is missing",
        ),
        ({"axes": []}, "axes: is an empty list"),
        ({"axes": ["angle", "infeed", "angle"]}, "axes[2]: names 'angle' a second time"),
        ({"axes": ["angle", "infeed", 5]}, "axes[2]: is 5"),
        ({"axes": ["angle", "infeed", "pair"]}, "axes: has an axis named 'pair', which is a verdict"),
        ({"axes": "angle"}, "axes: is 'angle'"),
        (
            {"order": ["angel"]},
            "order: 'angel' is not among the axes. Right would be 'angle', if that was meant",
        ),
        ({"sensitivities": []}, "sensitivities: is an empty list"),
        ({"sensitivities": ...}, "sensitivities: is missing"),
        (
            {"sensitivities": {"diagonal": {}, "end": {}}},
            "sensitivities.length: is missing. Right would be to give it, {}",
        ),
        (
            {"sensitivities": {"diagonal": {}, "end": {}, "length": {}, "lenght": {}}},
            "Right would be 'length'",
        ),
        (
            {"sensitivities": {"diagonal": {"angel": 1}, "end": {}, "length": {}}},
            "sensitivities.diagonal: 'angel' is not among the axes",
        ),
        ({"sensitivities": {"diagonal": 1, "end": {}, "length": {}}}, "sensitivities.diagonal: is 1"),
        (
            {"sensitivities": {"diagonal": {"angle": "x"}, "end": {}, "length": {}}},
            "sensitivities.diagonal.angle: is 'x'",
        ),
        ({"axis": []}, "axis: is unknown here. Right would be 'axes', if that was meant"),
    ],
)
def test_an_input_that_cannot_be_used_names_the_field_and_what_would_be_right(run, capsys, changes, said):
    with pytest.raises(CommandError) as error:
        run(given(**changes), "--format", "json")
    assert error.value.returncode == 2
    assert said in str(error.value)
    assert capsys.readouterr().out == ""


def test_a_member_given_twice_is_refused(run):
    twice = json.dumps(given())
    with pytest.raises(CommandError, match=r"sensitivities.end.angle: is given more than once"):
        run(twice.replace('"end": {"angle": 0.5}', '"end": {"angle": 0.5, "angle": 1}'))
    with pytest.raises(CommandError, match=r"sensitivities.end: is given more than once"):
        run(twice.replace('"end": {"angle": 0.5}', '"end": {"angle": 0.5}, "end": {}'))


def test_as_a_process_it_keeps_errors_off_standard_output():
    def run(text):
        command = [sys.executable, "manage.py", "rank_axes", "-", "--format", "json"]
        return subprocess.run(command, cwd=ROOT, input=text, capture_output=True, text=True, check=False)

    good = run(json.dumps(given()))
    assert (good.returncode, json.loads(good.stdout)["verdict"]) == (0, "angle")
    bad = run(json.dumps(given(axes=[])))
    assert (bad.returncode, bad.stdout) == (2, "")
    assert "axes: is an empty list. Right would be a list of at least one axis name." in bad.stderr
