"""`curvewright worst` and `curvewright mismatch` on the example site."""

import json
from pathlib import Path

import numpy as np
import pytest

from viewer.app.command_line import run
from viewer.site_data.resource_folder import example_folder

EXAMPLE = str(example_folder())


def _json(words: list[str], tmp_path: Path) -> dict:
    out = tmp_path / "out.json"
    assert run([*words, "--quiet", "--json", str(out)]) in (0, 1)
    return json.loads(out.read_text(encoding="utf-8"))


def test_money_is_energy_times_price_and_the_dearest_comes_first(tmp_path):
    data = _json(["worst", EXAMPLE, "--price", "0.2", "--yield", "1500"], tmp_path)
    energy = [one["lost_in_year_kwh"] for one in data["strings"]]
    assert energy == sorted(energy, reverse=True)
    assert energy[0] > 0
    for one in data["strings"]:
        assert one["money_in_year"] == pytest.approx(0.2 * one["lost_in_year_kwh"])
    assert any("1500 kWh" in text for text in data["assumptions"])


def test_worst_says_how_uncertain_every_loss_and_their_sum_are(tmp_path, capsys):
    data = _json(["worst", EXAMPLE], tmp_path)
    for one in data["strings"]:
        relative = one["power_ratio_uncertainty"] / one["power_ratio"]
        at_full = one["lost_at_stc_w"] / (1.0 - one["power_ratio"])
        assert one["lost_at_stc_uncertainty_w"] == pytest.approx(relative * at_full)
    assert run(["worst", EXAMPLE, "--count", "1"]) in (0, 1)
    first = data["strings"][0]
    lost, spread = first["lost_at_stc_w"], first["lost_at_stc_uncertainty_w"]
    lines = capsys.readouterr().out.splitlines()
    assert lines[0].count("(k=2)") == 2
    assert f"{first['power_ratio_uncertainty']:.3f}" in lines[1].split()
    together = f"Together, 1 string: {lost:.0f} ± {spread:.0f} W at STC (k = 2"
    assert any(line.startswith(together) for line in lines)


def test_a_typical_year_of_half_the_light_costs_half_the_energy_lost_in_proportion(tmp_path):
    """Soiling takes a share of the light, so its energy is in proportion to the year's light."""
    year = np.where(np.arange(8760) % 24 < 10, 400.0, 0.0)
    for name, values in (("full", 2 * year), ("half", year)):
        text = "poa_global\n" + "\n".join(f"{value:.1f}" for value in values) + "\n"
        (tmp_path / f"{name}.csv").write_text(text, encoding="utf-8")
    kwh = {}
    for name in ("full", "half"):
        data = _json(["worst", EXAMPLE, "--year", str(tmp_path / f"{name}.csv")], tmp_path)
        kwh[name] = {one["string"]: one["lost_in_year_kwh"] for one in data["strings"]}
    assert kwh["half"]["CB-C-S16"] == pytest.approx(0.5 * kwh["full"]["CB-C-S16"], rel=1e-6)


def test_a_year_with_too_few_hours_is_refused_in_one_line(tmp_path, capsys):
    file = tmp_path / "short.csv"
    file.write_text("hour,poa_global\n" + "".join(f"{k},500\n" for k in range(100)))
    assert run(["worst", EXAMPLE, "--quiet", "--year", str(file)]) == 2
    said = capsys.readouterr().err.splitlines()
    assert "short.csv has 100 values" in said[-1]


@pytest.mark.parametrize("words", [["--visit", "never"], ["--yield", "0"]])
def test_worst_refuses_what_makes_no_sense(words, capsys):
    assert run(["worst", EXAMPLE, "--quiet", *words]) == 2
    assert "curvewright worst: " in capsys.readouterr().err


@pytest.mark.parametrize("option", ["--price", "--yield", "--count"])
@pytest.mark.parametrize("value", ["-1", "nan", "inf"])
def test_worst_refuses_numbers_that_cannot_be_meant(option, value, capsys):
    """A yield of nan came out as "nan kWh a year"."""
    with pytest.raises(SystemExit) as ended:
        run(["worst", EXAMPLE, "--quiet", f"{option}={value}"])
    assert ended.value.code == 2
    assert f"argument {option}" in capsys.readouterr().err


def test_mismatch_is_what_the_sum_of_maxima_has_more_than_the_curve(tmp_path):
    data = _json(["mismatch", EXAMPLE, "--combiner", "CB-A"], tmp_path)
    (box,) = data["combiners"]
    voltage, current = (np.array(box["curve"][one]) for one in ("voltage", "current"))
    assert box["p_mp"] == pytest.approx(float(np.max(voltage * current)), rel=1e-4)
    own = sum(one["own"] for one in box["strings"])
    assert box["loss"] == pytest.approx(own - box["p_mp"])
    assert box["loss"] > 0
    shared = sum(one["at_common_voltage"] for one in box["strings"])
    assert shared == pytest.approx(box["p_mp"], rel=1e-4)
    assert box["worst_first"][0] == "CB-A-S10"


def test_mismatch_of_an_unknown_combiner_or_visit_is_refused(capsys):
    assert run(["mismatch", EXAMPLE, "--quiet", "--combiner", "CB-Z"]) == 2
    assert "CB-A" in capsys.readouterr().err
    assert run(["mismatch", EXAMPLE, "--quiet", "--visit", "never"]) == 2
    assert "2025" in capsys.readouterr().err
