"""Which axis explains the deviations: the fits, the verdicts, and what to try where the data cannot tell.

The random cases are held against numpy's least squares and scipy.stats, written apart.
"""

from fractions import Fraction
from itertools import combinations

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from scipy import stats

from permits.calibration.rules.axes import Feature, rank, site_order
from permits.calibration.rules.ranking_answers import as_json, as_text


def features(*rows):
    """Rows of deviation, uncertainty and sensitivities by axis."""
    return [
        Feature(f"f{at}", Fraction(d), Fraction(u), {a: Fraction(s) for a, s in by_axis.items()})
        for at, (d, u, by_axis) in enumerate(rows)
    ]


def test_the_axis_that_explains_the_data_is_named():
    ranking = rank(
        features(
            ("0.8", "0.1", {"angle": "1", "length": "1"}),
            ("0.4", "0.1", {"angle": "0.5"}),
            ("0.05", "0.1", {"length": "1"}),
        ),
        ["angle", "length"],
    )
    # By hand: e = (0.8 + 0.5·0.4)/1.25 = 0.8, u = 0.1/√1.25, χ² = (0 + 0 + 0.05²)/0.01 = 0.25
    said = as_json(ranking)
    assert said["verdict"] == "angle"
    first = said["axes"][0]
    assert (first["axis"], first["error"], first["chi2"], first["dof"]) == ("angle", 0.8, 0.25, 2)
    assert first["standard_uncertainty"] == pytest.approx(0.1 / 1.25**0.5, rel=1e-15)
    assert first["p_value"] == pytest.approx(np.exp(-0.125), rel=1e-12)  # χ² with 2 degrees: e^(−χ²/2)
    assert (said["pair"], said["pair_fit"], said["try_first"]) == (None, None, None)


def test_one_feature_cannot_tell_and_the_angle_comes_first():
    ranking = rank(features(("1", "0.1", {"length": "1", "angle": "2"})), site_order(["length", "angle"]))
    said = as_json(ranking)
    assert (said["verdict"], said["try_first"]) == ("undetermined", ["angle", "length"])
    assert [axis["p_value"] for axis in said["axes"]] == [None, None]
    assert "One feature alone" in said["reason"]


def test_a_runner_up_less_than_3_84_away_leaves_it_undetermined():
    def two(second):
        """χ² of `a` is 0, of `b` it is (second/0.1)²/2."""
        return rank(
            features(("1", "0.1", {"a": "1", "b": "1"}), ("1", "0.1", {"a": "1", "b": second})), ["b", "a"]
        )

    near = two("0.8")
    assert (near.verdict, near.try_first) == ("undetermined", ("b", "a"))
    assert two("0.2").verdict == "a"


def test_a_runner_up_exactly_3_84_away_is_far_enough():
    """χ² of `a` is 0; of `b` it is 1.6² + 0.8² + 0.8² = 3.84 exactly, or a little less."""

    def three(last, twin="0"):
        rows = (("1.6", "1", {"a": "1.6", "twin": twin}), ("0.8", "1", {"a": "0.8", "twin": twin}))
        return features(*rows, (last, "1", {"a": last, "twin": twin}), ("0", "1", {"b": "1"}))

    exact = rank(three("0.8"), ["b", "a"])
    assert (exact.fits[1].chi2, exact.verdict) == (Fraction("3.84"), "a")
    assert rank(three("0.7999"), ["b", "a"]).verdict == "undetermined"
    twins = rank(three("0.8", twin="1"), ["b", "twin", "a"])
    assert (twins.verdict, twins.try_first) == ("undetermined", ("twin", "a"))


def test_only_axes_that_remain_are_tried_in_the_site_s_order():
    rows = features(
        ("1", "0.1", {"far": "-1", "near": "1", "same": "1", "angle": "1"}),
        ("1", "0.1", {"far": "1", "near": "1.05", "same": "1", "angle": "0.95", "idle": "0"}),
    )
    ranking = rank(rows, ["far", "same", "idle", "angle", "near"])
    assert ranking.verdict == "undetermined"
    assert ranking.try_first == ("same", "angle", "near")
    assert ranking.fits[-1].axis in {"far", "idle"}


def test_two_axes_together_where_no_single_one_explains_it():
    rows = features(
        ("1", "0.1", {"a": "1"}), ("2", "0.1", {"b": "1"}), ("3.05", "0.1", {"a": "1", "b": "1"}),
        ("0", "0.1", {"c": "1"}),
    )  # fmt: skip
    said = as_json(rank(rows, ["c", "b", "a"]))
    assert (said["verdict"], said["pair"], said["try_first"]) == ("pair", ["b", "a"], None)
    assert said["pair_fit"]["dof"] == 2
    assert said["pair_fit"]["errors"] == pytest.approx([2 + 0.05 / 3, 1 + 0.05 / 3])
    assert "b and a together" in said["reason"]


def test_none_where_neither_one_axis_nor_two_explain_it():
    rows = features(
        ("1", "0.1", {"a": "1"}), ("2", "0.1", {"b": "1"}), ("9", "0.1", {"a": "1", "b": "1"})
    )  # fmt: skip
    ranking = rank(rows, ["a", "b"])
    assert (ranking.verdict, ranking.pair, ranking.try_first) == ("none", None, None)
    two_features = features(("1", "0.1", {"a": "1"}), ("2", "0.1", {"b": "1"}))
    assert rank(two_features, ["a", "b"]).verdict == "none"
    assert "too few to judge a pair" in as_json(rank(two_features, ["a", "b"]))["reason"]


def test_a_pair_that_cannot_be_told_apart_is_passed_over():
    """b is a doubled: no pair fit exists for the two, and none of them explains the last feature."""
    rows = features(
        ("0.1", "0.1", {"a": "0.1", "b": "0.2"}), ("0.3", "0.1", {"a": "0.3", "b": "0.6"}), ("5", "0.1", {}),
    )  # fmt: skip
    assert rank(rows, ["a", "b"]).verdict == "none"


def test_an_axis_that_nothing_depends_on_explains_nothing():
    rows = features(("1", "0.1", {"a": "1", "idle": "0"}), ("1", "0.1", {"a": "1"}))
    said = as_json(rank(rows, ["idle", "a"]))
    assert said["verdict"] == "a"
    idle = said["axes"][1]
    assert (idle["axis"], idle["error"], idle["standard_uncertainty"], idle["chi2"]) == (
        "idle",
        None,
        None,
        200.0,
    )
    nothing = rank(features(("0", "0.1", {}), ("0", "0.1", {})), ["idle"])
    assert (nothing.verdict, nothing.try_first) == ("undetermined", ())
    assert "None of the measured features depends" in as_json(nothing)["reason"]
    assert rank(features(("5", "0.1", {}), ("5", "0.1", {})), ["idle"]).verdict == "none"


def test_an_only_axis_has_no_runner_up():
    ranking = rank(features(("1", "0.1", {"a": "1"}), ("1.1", "0.1", {"a": "1"})), ["a"])
    assert ranking.verdict == "a"
    assert "the only axis" in as_json(ranking)["reason"]
    assert as_text(ranking).startswith("Verdict: a\n")


def test_the_site_s_order_is_the_one_given_or_angle_first():
    assert site_order(["length", "Angle", "height"]) == ("Angle", "length", "height")
    assert site_order(["length", "angle", "height"], ["height"]) == ("height", "length", "angle")
    assert site_order(["length", "height"]) == ("length", "height")


AXES = ("a", "b", "c")
tenths = st.integers(-40, 40).map(lambda n: Fraction(n, 10))
rows = st.lists(
    st.builds(
        Feature,
        st.just("f"),
        tenths,
        st.integers(1, 20).map(lambda n: Fraction(n, 10)),
        st.fixed_dictionaries(dict.fromkeys(AXES, tenths)),
    ),
    min_size=1,
    max_size=6,
)


def by_numpy(found, axes):
    """χ² and errors of the best fit by these axes, in floating point; None where they are dependent."""
    weights = 1 / np.array([float(f.uncertainty) for f in found])
    matrix = np.array([[float(f.sensitivities[axis]) for axis in axes] for f in found]) * weights[:, None]
    target = np.array([float(f.deviation) for f in found]) * weights
    if np.linalg.matrix_rank(matrix, tol=1e-9) < len(axes):
        return None
    errors = np.linalg.lstsq(matrix, target, rcond=None)[0]
    residual = target - matrix @ errors
    return float(residual @ residual), errors, np.sqrt(np.diag(np.linalg.inv(matrix.T @ matrix)))


@settings(max_examples=300, deadline=None)
@given(rows)
def test_random_cases_agree_with_numpy_and_scipy(found):
    ranking, n = rank(found, AXES), len(found)
    chi2s = [float(fit.chi2) for fit in ranking.fits]
    assert chi2s == sorted(chi2s)
    for fit in ranking.fits:
        expected = by_numpy(found, [fit.axis])
        if expected is None:
            assert fit.error is None
            continue
        assert float(fit.chi2) == pytest.approx(expected[0], rel=1e-8, abs=1e-9)
        assert float(fit.error) == pytest.approx(expected[1][0], rel=1e-8, abs=1e-9)
        assert float(fit.uncertainty) == pytest.approx(expected[2][0], rel=1e-8)
        if n > 1:
            assert fit.p == pytest.approx(stats.chi2.sf(float(fit.chi2), n - 1), rel=1e-9)
    assume(all(fit.error is not None for fit in ranking.fits))
    if n == 1:
        assert (ranking.verdict, ranking.try_first) == ("undetermined", AXES)
    elif ranking.fits[0].p >= 0.05:
        assume(abs(chi2s[1] - chi2s[0] - 3.84) > 1e-9)
        expected = ranking.fits[0].axis if chi2s[1] - chi2s[0] >= 3.84 else "undetermined"
        assert ranking.verdict == expected
        if expected == "undetermined":
            assert ranking.try_first[0] in {
                fit.axis for fit in ranking.fits if float(fit.chi2) - chi2s[0] < 3.84
            }
            assert len(ranking.try_first) >= 2
    else:
        pairs = {two: by_numpy(found, two) for two in combinations(AXES, 2)} if n > 2 else {}
        good = {two: fit[0] for two, fit in pairs.items() if fit and stats.chi2.sf(fit[0], n - 2) >= 0.05}
        if not good:
            assert ranking.verdict == "none"
        else:
            assert ranking.verdict == "pair"
            assert float(ranking.pair.chi2) == pytest.approx(min(good.values()), rel=1e-8, abs=1e-9)
            assert ranking.pair.p == pytest.approx(stats.chi2.sf(float(ranking.pair.chi2), n - 2), rel=1e-9)
            assert [float(u) for u in ranking.pair.uncertainties] == pytest.approx(
                list(pairs[ranking.pair.axes][2]), rel=1e-7
            )


@settings(max_examples=100, deadline=None)
@given(rows, st.integers(1, 50))
def test_another_unit_or_order_of_features_changes_no_verdict(found, factor):
    scaled = [
        Feature(f.name, f.deviation * factor, f.uncertainty * factor, f.sensitivities)
        for f in reversed(found)
    ]
    here, there = rank(found, AXES), rank(scaled, AXES)
    assert (there.verdict, there.try_first) == (here.verdict, here.try_first)
    assert [fit.chi2 for fit in there.fits] == [fit.chi2 for fit in here.fits]
