"""The spread between pieces of one species against Wood Handbook Table 5-6 (FPL-GTR-190, read)."""

from __future__ import annotations

from collections.abc import Callable

from woodref.catalogue.properties import PROPERTIES

Rows = Callable[[str], list[dict[str, str]]]


def test_spread_between_pieces_is_that_of_the_table(rows: Rows) -> None:
    """Each row of the table is the spread the catalogue ranks with; toughness has no property."""
    told = {
        "Static bending: modulus of rupture": ["mor"],
        "Static bending: modulus of elasticity": ["moe"],
        "Static bending: work to maximum load": ["work_to_maximum_load"],
        "Impact bending": ["impact_bending"],
        "Compression parallel to grain": ["compression_parallel"],
        "Compression perpendicular to grain": ["compression_perpendicular"],
        "Shear parallel to grain, maximum shearing strength": ["shear_parallel"],
        "Tension parallel to grain": ["tension_parallel"],
        "Side hardness": ["side_hardness"],
        "Toughness": [],
        "Specific gravity": ["density", "basic_density"],
    }
    table = rows("wood_handbook_5-6_coefficients_of_variation.csv")
    assert [row["property"] for row in table] == list(told)
    for row in table:
        for name in told[row["property"]]:
            assert PROPERTIES[name].cv == float(row["coefficient_of_variation_pct"]), name
