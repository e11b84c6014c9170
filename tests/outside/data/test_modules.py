"""Rows of modules whose sizes come from open data, not from us.

pvlib 0.16, `pvsystem.retrieve_sam("CECMod")`: the California Energy Commission's module list as
shipped with pvlib; Length and Width in metres, to the millimetre. Only sizes are used. The
perimeters of ten modules in a row, portrait and butted, are 2 * (10 * Width + Length); they are
exact in whole nanometres, so there is no tolerance.
"""

from __future__ import annotations

import pandas as pd
import pytest
from gapwright.calc.outline import GapRules, Module, outline_of
from pvlib import pvsystem

RULES = GapRules(max_module_gap_nm=50_800_000)


@pytest.fixture(scope="module")
def sizes() -> pd.DataFrame:
    table = pvsystem.retrieve_sam("CECMod").T.reset_index(drop=True)
    return table[["Length", "Width", "A_c"]].astype(float)


def whole_nm(metres: float) -> int:
    return round(metres * 10**6) * 1000


def row(length_nm: int, width_nm: int) -> list[Module]:
    """Ten modules, portrait and butted."""
    return [
        Module(x_nm=i * width_nm, y_nm=0, width_nm=width_nm, height_nm=length_nm) for i in range(10)
    ]


@pytest.mark.parametrize(
    ("number", "length_m", "width_m", "perimeter_nm"),
    [
        (0, 1.576, 0.825, 19_652_000_000),
        (12_345, 1.965, 0.990, 23_730_000_000),
        (20_000, 1.653, 0.992, 23_146_000_000),
    ],
)
def test_ten_in_a_row_portrait_and_butted(
    sizes: pd.DataFrame, number: int, length_m: float, width_m: float, perimeter_nm: int
) -> None:
    module = sizes.iloc[number]
    assert (module["Length"], module["Width"]) == (length_m, width_m)
    outline = outline_of(row(whole_nm(length_m), whole_nm(width_m)), rules=RULES)
    assert outline.perimeter_nm == perimeter_nm
    assert len(outline.arrays[0].outer.corners) == 4


def test_every_size_in_the_data_has_the_area_that_the_data_give(sizes: pd.DataFrame) -> None:
    """One row of ten of each distinct size: the outline encloses ten times the listed area.

    Rows whose own area and sides differ by over 0.5 % are left out as suspect.
    """
    known = sizes.dropna()
    product = known["Length"] * known["Width"]
    sound = known[(product / known["A_c"] - 1).abs() <= 0.005]
    for module in sound.drop_duplicates(["Length", "Width"]).itertuples():
        length_nm, width_nm = whole_nm(module.Length), whole_nm(module.Width)
        outline = outline_of(row(length_nm, width_nm), rules=RULES)
        (array,) = outline.arrays
        across, up = (side.length_nm for side in array.outer.sides[:2])
        assert across * up == pytest.approx(10 * module.A_c * 10**18, rel=0.006)
        assert outline.perimeter_nm == 2 * (10 * width_nm + length_nm)
