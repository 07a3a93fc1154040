"""How much of what goes into a mix, how it ages, what is taken from stock first: the pure rules and published cases."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from studiodesk.answers import Refusal
from studiodesk.chemistry.rules import ageing, mixing, stock
from studiodesk.units import PL_PER_L, PL_PER_ML, pl_from

D, DAY = Decimal, timedelta(days=1)
T0 = datetime(2026, 11, 2, 12, tzinfo=UTC)
AMOUNTS = st.integers(1, 5_000_000).map(lambda n: D(n).scaleb(-3))


def ratio(text: str) -> mixing.Ratio:
    read = mixing.parsed(text)
    assert isinstance(read, mixing.Ratio)
    return read


# ---- published cases ------------------------------------------------------------------------------------------------


def test_published_25_l_at_1_4_is_5_l_of_concentrate_and_20_l_of_water() -> None:
    """Agfa G128 data sheet, as it stands at bakerhughes.com: a 25 L tank at 1+4."""
    assert ratio("1+4").concentrate_in(D(25)) == 5
    parts = [mixing.Part(1, D(1)), mixing.Part(2, None, make_up=True, is_water=True)]
    found = mixing.measures(parts, 5 * PL_PER_ML, 25 * PL_PER_L)
    assert [one.rounded for one in found] == [D(5000), D(20000)]


def test_published_three_parts_glacial_acid_and_eight_of_water_are_about_28_per_cent() -> None:
    """cjballphotography.org.uk: 3 parts glacial acetic acid and 8 parts water make about 28 %; 3/11 is 27.3 % v/v."""
    share = ratio("3+8").share
    assert share == Fraction(3, 11) and round(float(share) * 100, 1) == 27.3 and abs(share * 100 - 28) < 1


def test_published_16_rolls_in_5_l_leave_312_5_ml_for_each() -> None:
    """brodie-tyrrell.org: a 5 L tank for 16 rolls in one batch; the quotient is arithmetic on its figures."""
    found = mixing.measures([mixing.Part(1, D(1000))], PL_PER_L, 5 * PL_PER_L)
    least = mixing.least_for(found, int(D("312.5") * PL_PER_ML), 16)
    assert least is not None and least.is_enough and least.enough_for == 16
    over = mixing.least_for(found, int(D("312.5") * PL_PER_ML), 17)
    assert over is not None and not over.is_enough


def test_300_ml_at_1_50_hold_5_9_ml_of_concentrate() -> None:
    """The arithmetic of 300/51; that film developers ask at least so much concentrate a roll is common practice."""
    assert round(ratio("1+50").concentrate_in(D(300)), 1) == Fraction(59, 10)
    parts = [mixing.Part(1, D(20), rounds_to=D(1)), mixing.Part(2, None, make_up=True, is_water=True)]
    found = mixing.measures(parts, 1020 * PL_PER_ML, 300 * PL_PER_ML)
    least = mixing.least_for(found, 6 * PL_PER_ML, 1)
    assert found[0].rounded == 6  # what the cylinder shows does not turn 5.88 into enough
    assert least is not None and not least.is_enough and least.enough_for == 0


def test_published_lives_of_a_rapid_fixer_add_up_over_states() -> None:
    """Working fixer: airless 6 months, floating lid 2 months, with air 1 month, open 7 days.

    A maker's sheet quoted in pl.rec.foto (2005), a secondary source; months counted as 30 days.
    """
    lives = {ageing.FULL: 180 * 86400, ageing.FLOATING_LID: 60 * 86400, ageing.PART_FULL: 30 * 86400,
             ageing.TRAY: 7 * 86400}  # fmt: skip
    stays = [(ageing.FULL, 45), (ageing.PART_FULL, 10), (ageing.TRAY, 1)]
    at, made = T0, []
    for state, days in stays:
        made.append(ageing.Stay(state, at, at + days * DAY))
        at += days * DAY
    spent = ageing.used(made, lives)
    assert spent == Fraction(1, 4) + Fraction(1, 3) + Fraction(1, 7)
    assert ageing.use_by(spent, ageing.TRAY, at, lives) == at + timedelta(seconds=int((1 - spent) * 7 * 86400))


# ---- ratios and units -----------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("text", "said"), [("1+9", "1+9"), (" 1 + 2.5 ", "1+2.5"), ("1+2,5", "1+2.5"), ("3+8", "3+8")])
def test_a_ratio_with_a_plus_is_read(text: str, said: str) -> None:
    assert str(ratio(text)) == said


def test_a_ratio_with_a_colon_is_asked_about() -> None:
    read = mixing.parsed("1:9")
    assert isinstance(read, Refusal) and read.code == "chemistry.ratio_ambiguous"
    assert (read.facts["plus"], read.facts["inside"]) == ("1+9", "1+8")


@pytest.mark.parametrize("text", ["", "9", "1+", "one plus nine", "0+9", "-1+9", "1+9+2"])
def test_what_is_no_ratio_is_said(text: str) -> None:
    read = mixing.parsed(text)
    assert isinstance(read, Refusal) and read.code == "chemistry.ratio_unreadable"


def test_volumes_are_exact_in_each_unit_and_no_other_is_guessed() -> None:
    """1 US gal is 231 cubic inches and 128 US fl oz (NIST Handbook 44, Appendix C)."""
    assert pl_from("1", "US gal") == 3_785_411_784_000 == pl_from("128", "US fl oz")
    assert pl_from("1.5", "L") == pl_from("1500", "mL")
    for wrong in ("ml", "oz", "gal", ""):
        with pytest.raises(ValueError, match="no volume"):
            pl_from("1", wrong)


# ---- parts ----------------------------------------------------------------------------------------------------------

STEPS = st.none() | st.sampled_from([D("0.1"), D("0.5"), D(1), D(5), D(10)])


@given(amounts=st.lists(st.tuples(AMOUNTS, STEPS), min_size=1, max_size=5), asked=st.integers(1, 10**14))
def test_parts_and_the_water_to_the_mark_are_the_volume(amounts: list[tuple[D, D | None]], asked: int) -> None:
    parts = [mixing.Part(n, amount, rounds_to=step) for n, (amount, step) in enumerate(amounts, 1)]
    makes = int(sum(amount for amount, _step in amounts) * 2 * PL_PER_ML)
    found = mixing.measures([*parts, mixing.Part(9, None, make_up=True, is_water=True)], makes, asked)
    volume = Fraction(asked, PL_PER_ML)
    assert sum(one.exact for one in found) == volume
    liquid = sum((Fraction(one.rounded) for one in found[:-1]), Fraction(0))
    if liquid <= volume:
        assert abs(liquid + Fraction(found[-1].rounded) - volume) <= Fraction(1, 2000)
    else:  # each was raised to the least that can be measured
        assert found[-1].rounded == 0


@given(exact=st.fractions(Fraction(1, 1000), 10**6), step=st.sampled_from([D("0.1"), D("0.5"), D(1), D(5), D(25)]))
def test_rounding_goes_no_further_than_half_a_step_and_never_to_nothing(exact: Fraction, step: D) -> None:
    rounded = mixing.rounded_to(exact, step)
    assert rounded % step == 0 and rounded > 0
    assert abs(Fraction(rounded) - exact) <= Fraction(step) / 2 or (rounded == step and exact < Fraction(step) / 2)


@pytest.mark.parametrize(("amount", "rough"), [("10", False), ("9.524", False), ("9.52", True), ("10.6", True)])
def test_a_part_that_rounding_changes_by_more_than_5_per_cent_is_said(amount: str, rough: bool) -> None:
    found = mixing.measures([mixing.Part(1, D(amount), rounds_to=D(10))], PL_PER_L, PL_PER_L)
    assert found[0].rounded == 10 and found[0].is_rough is rough


def test_exactly_5_per_cent_is_not_more() -> None:
    found = mixing.measures([mixing.Part(1, D("40"), rounds_to=D(42))], PL_PER_L, PL_PER_L)
    assert found[0].off == Fraction(1, 20) and not found[0].is_rough


def test_so_little_that_the_parts_are_more_than_the_whole_is_known() -> None:
    parts = [mixing.Part(1, D(600), rounds_to=D(10), is_water=True), mixing.Part(2, D(200), rounds_to=D(5)),
             mixing.Part(3, None, make_up=True, is_water=True)]  # fmt: skip
    assert mixing.is_too_small(mixing.measures(parts, PL_PER_L, 13 * PL_PER_ML), 13 * PL_PER_ML)
    assert not mixing.is_too_small(mixing.measures(parts, PL_PER_L, 25 * PL_PER_ML), 25 * PL_PER_ML)


def test_powder_and_pieces_take_no_part_of_the_volume() -> None:
    water, mark = mixing.Part(1, D(750), is_water=True), mixing.Part(4, None, make_up=True, is_water=True)
    parts = [water, mixing.Part(2, D(45), "g", rounds_to=D("0.5")), mixing.Part(3, D(1), "piece", rounds_to=D(1)), mark]
    found = mixing.measures(parts, PL_PER_L, 2 * PL_PER_L)
    assert [one.rounded for one in found] == [D(1500), D(90), D(2), D(500)]


@given(asked=st.integers(1, 10**10).map(lambda n: D(n).scaleb(-6)), taken=st.lists(AMOUNTS, min_size=1, max_size=4))
def test_what_was_asked_is_shared_out_over_the_lots_and_none_of_it_is_lost(asked: D, taken: list[D]) -> None:
    assert sum(mixing.shared_out(asked, taken)) == asked


@pytest.mark.parametrize(
    ("ratio_", "amount", "code"),
    [("1+9", "100", None), ("1+9", "101", None), ("1+9", "102", "ratio_does_not_fit"),
     ("1:9", "100", "ratio_ambiguous"), ("", "1001", "parts_too_much"), ("nine", "1", "ratio_unreadable")],
)  # fmt: skip
def test_a_recipe_that_contradicts_itself_is_not_kept(ratio_: str, amount: str, code: str | None) -> None:
    refusal = mixing.describing_refusal("Fixer", PL_PER_L, [mixing.Part(1, D(amount))], ratio_)
    assert (refusal.code if refusal else None) == (f"chemistry.{code}" if code else None)


def test_litres_for_millilitres_are_doubted() -> None:
    assert mixing.doubt_amount(20 * PL_PER_L, PL_PER_L) is None
    more, less = mixing.doubt_amount(20 * PL_PER_L + 1, PL_PER_L), mixing.doubt_amount(5 * PL_PER_ML, PL_PER_L)
    assert more is not None and more.code == "chemistry.far_more_than_recipe"
    assert less is not None and less.facts["times"] == 200


# ---- ageing ---------------------------------------------------------------------------------------------------------

LIVES = {ageing.FULL: 180 * 86400, ageing.PART_FULL: 30 * 86400, ageing.FLOATING_LID: 60 * 86400}


@given(days=st.lists(st.tuples(st.sampled_from(sorted(LIVES)), st.integers(0, 10**7)), min_size=1, max_size=8))
def test_ageing_adds_up_however_it_is_cut(days: list[tuple[str, int]]) -> None:
    at, whole, cut = T0, Fraction(0), []
    for state, seconds in days:
        ends = at + timedelta(seconds=seconds)
        whole += Fraction(seconds, LIVES[state])
        middle = at + (ends - at) / 2
        cut += [ageing.Stay(state, at, middle), ageing.Stay(state, middle, ends)]
        at = ends
    assert ageing.used(cut, LIVES) == whole


def levels(*happened: tuple[int, str, int, int]) -> dict[int, ageing.Stock]:
    """(container, event, days after the first, mL)"""
    vessels = {1: ageing.Vessel(ageing.BOTTLE, PL_PER_L), 2: ageing.Vessel(ageing.LID, 5 * PL_PER_L)}
    rows = [ageing.Happened(box, event, T0 + days * DAY, ml * PL_PER_ML) for box, event, days, ml in happened]
    return ageing.levels(rows, vessels, LIVES)


def test_a_bottle_ages_faster_once_something_is_taken_from_it() -> None:
    found = levels((1, "filled", 0, 1000), (1, "taken", 90, 500))[1].aged(T0 + 105 * DAY, LIVES)
    assert found.spent == Fraction(1, 2) + Fraction(1, 2) and found.level_pl == 500 * PL_PER_ML
    assert levels((1, "filled", 0, 900))[1].state == ageing.FULL
    assert levels((1, "filled", 0, 899))[1].state == ageing.PART_FULL


def test_when_it_was_spent_is_known_afterwards() -> None:
    found = levels((1, "filled", 0, 1000), (1, "taken", 90, 500), (2, "filled", 90, 500))
    over = T0 + 105 * DAY
    assert found[1].use_by(LIVES) == over == found[1].aged(T0 + 400 * DAY, LIVES).use_by(LIVES)
    late = levels((1, "filled", 0, 1000), (1, "taken", 90, 500), (1, "taken", 200, 100), (2, "filled", 200, 100))
    assert late[2].use_by(LIVES) == over  # under the lid it does not come back to life


def test_what_is_poured_over_brings_its_age_along_and_the_older_counts() -> None:
    found = levels((1, "filled", 0, 1000), (1, "taken", 90, 500), (2, "filled", 90, 500))
    assert found[2].spent == Fraction(1, 2) and found[2].state == ageing.FLOATING_LID
    found = levels((1, "filled", 0, 1000), (1, "taken", 90, 500), (2, "filled", 90, 500), (1, "taken", 105, 500),
                   (2, "filled", 105, 500))  # fmt: skip
    assert found[2].spent == 1 and found[1].level_pl == 0


def test_a_life_that_nobody_kept_is_said_and_not_guessed() -> None:
    vessels = {1: ageing.Vessel(ageing.IN_TRAY, PL_PER_L)}
    one = ageing.levels([ageing.Happened(1, "filled", T0, PL_PER_L)], vessels, LIVES)[1].aged(T0 + DAY, LIVES)
    assert one.unknown and one.spent == 0 and ageing.use_by(one.spent, one.state, T0, LIVES) is None


# ---- stock ----------------------------------------------------------------------------------------------------------

TODAY = date(2026, 11, 26)


def lot(pk: int, left: str, until: date | None, received: date = TODAY) -> stock.Lot:
    return stock.Lot(pk, f"L{pk}", D(left), received, until)


def test_first_expired_goes_out_first_and_what_has_no_date_last() -> None:
    lots = [
        lot(1, "5", None, TODAY - 9 * DAY),
        lot(2, "5", TODAY + 9 * DAY),
        lot(3, "5", TODAY + DAY),
        lot(4, "5", None),
    ]
    assert [one.pk for one in stock.first_out(lots)] == [3, 2, 1, 4]
    taken = stock.taken(lots, D(12))
    assert taken is not None and [(one.pk, some) for one, some in taken] == [(3, D(5)), (2, D(5)), (1, D(2))]
    assert stock.taken(lots, D("20.001")) is None


@given(
    lefts=st.lists(st.integers(0, 100_000).map(lambda n: D(n).scaleb(-3)), min_size=1, max_size=6),
    wanted=st.integers(1, 300_000).map(lambda n: D(n).scaleb(-3)),
)
def test_what_is_taken_is_what_was_wanted_and_no_lot_gives_more_than_it_has(lefts: list[D], wanted: D) -> None:
    lots = [stock.Lot(n, str(n), left, TODAY, None) for n, left in enumerate(lefts)]
    taken = stock.taken(lots, wanted)
    if sum(lefts) < wanted:
        assert taken is None
    else:
        assert taken is not None and sum(some for _one, some in taken) == wanted
        assert all(0 < some <= one.left for one, some in taken)


def test_what_expired_is_taken_only_when_somebody_says_so() -> None:
    lots = [lot(1, "5", TODAY - DAY), lot(2, "3", TODAY)]
    assert [one.pk for one, _some in stock.chosen("P", "mL", lots, D(3), TODAY, expired_too=False)] == [2]  # type: ignore[union-attr]
    asked = stock.chosen("P", "mL", lots, D(4), TODAY, expired_too=False)
    assert isinstance(asked, Refusal) and asked.code == "chemistry.only_expired" and asked.facts["lots"] == ["L1"]
    assert isinstance(stock.chosen("P", "mL", lots, D(4), TODAY, expired_too=True), list)
    little = stock.chosen("P", "mL", lots, D(9), TODAY, expired_too=True)
    assert isinstance(little, Refusal) and little.facts["left"] == "8"
    assert stock.chosen("P", "mL", [], D(9), TODAY, expired_too=False) == []


def test_a_pack_is_good_until_the_earlier_of_its_date_and_so_long_after_it_was_opened() -> None:
    assert stock.good_until(TODAY + 90 * DAY, TODAY, 30 * 86400) == TODAY + 30 * DAY
    assert stock.good_until(TODAY + DAY, TODAY, 30 * 86400) == TODAY + DAY
    assert stock.good_until(None, TODAY, None) is None
    assert not stock.is_expired(lot(1, "1", TODAY), TODAY) and stock.is_expired(lot(1, "1", TODAY), TODAY + DAY)


def test_it_is_ordered_at_the_reorder_point_and_what_expired_does_not_count() -> None:
    lots = [lot(1, "5", TODAY - DAY), lot(2, "3", None)]
    assert stock.to_reorder(lots, D(3), TODAY) == 3 and stock.to_reorder(lots, D("2.999"), TODAY) is None
    assert stock.to_reorder(lots, None, TODAY) is None and stock.to_reorder([], D(0), TODAY) == 0
