"""Makes a frozen question of accepted numbers: fills the texts, prints the numbers, orders the options."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from decimal import Decimal
from functools import lru_cache

from quizapp.assessment.drawing import BlankValue, DrawFault, IdeaValue, Numbers, number, truth
from quizapp.assessment.families import MOST_DECIMALS, Family, FigureDesign, ListDraw, OptionDesign, RangeDraw
from quizapp.assessment.number_stream import NumberStream
from quizapp.assessment.orders import is_valid_order
from quizapp.assessment.placeholders import NOTHING_MORE, Text, print_exact, print_number
from quizapp.assessment.questions import Blank, Drawn, FigureSpec, Idea, Option, Step
from quizapp.ventilation.units import UNITS

Printed = Mapping[str, str]


class _Words(dict[str, str]):
    """What was drawn, and behind it what may be said of the device, which is not copied for every question."""

    def __init__(self, behind: Printed) -> None:
        super().__init__()
        self.behind = behind

    def __missing__(self, name: str) -> str:
        return self.behind[name]


def drawn_numbers(family: Family, numbers: Numbers) -> tuple[Drawn, ...]:
    """Return every drawn number with its printed form, in the order written."""
    ready = numbers.drawn or (None,) * len(family.draws)
    return tuple(one or _drawn(design, numbers) for design, one in zip(family.draws, ready, strict=True))


def printed_names(family: Family, numbers: Numbers, profile: Printed, drawn_ones: Sequence[Drawn]) -> dict[str, str]:
    """Return what texts may print: drawn and derived values, the words of the case and of the profile."""
    printed = _Words(profile)
    for drawn in drawn_ones:
        printed[drawn.name] = drawn.printed
    for step in family.derived:
        value = numbers.values[step.name]
        if not isinstance(value, Decimal):
            continue
        if step.words:
            printed[step.name] = step.words[int(value)]
        elif step.decimals is not None:
            printed[step.name] = print_number(value, step.decimals)
    if numbers.case is not None:
        printed.update({name: print_exact(value) for name, value in numbers.case.numbers.items()})
        printed.update(numbers.case.words)
        printed["case"] = fill("case", numbers.case.text, printed)
    return printed


def printed_keys(blanks: tuple[BlankValue, ...]) -> dict[str, str]:
    """Return the keys under the names of their blanks, {key} and {second}; only feedback may print them."""
    return {blank.design.name: print_number(blank.key, blank.design.decimals) for blank in blanks}


def fill(where: str, text: Text, printed: Printed, more: Printed = NOTHING_MORE) -> str:
    """Fill a text; raises DrawFault naming the field and the name that cannot be printed."""
    try:
        return text.fill(printed, more)
    except KeyError as error:
        raise DrawFault(f"{where}: {{{error.args[0]}}} has no printed value here") from None


def stem(family: Family, stream: NumberStream, printed: Printed) -> str:
    """Return the stem with one drawn setting, in place of {setting} or as its first paragraph."""
    setting = ""
    if family.settings:
        setting = fill("settings", family.settings[stream.below(len(family.settings))], printed)
    body = fill("body", family.stem, printed, {"setting": setting}).strip()
    return body if not setting or "setting" in family.stem.names else f"{setting}\n\n{body}"


def blank(value: BlankValue, printed: Printed, keys: Printed) -> Blank:
    """Return one blank with its key, tolerance and wrong ideas."""
    design = value.design
    return Blank(
        name=design.name,
        label=design.label,
        key=value.key,
        key_printed=keys[design.name],
        tolerance=value.tolerance,
        units=design.units,
        unit_labels=_unit_labels(design.units, design.unit_label),
        decimals=design.decimals,
        low=value.low,
        high=value.high,
        danger=design.danger,
        ideas=tuple(_idea(idea, design.decimals, printed, keys) for idea in value.ideas),
    )


def figures(family: Family, numbers: Numbers, printed: Printed) -> tuple[FigureSpec, ...]:
    """Return the figures of this draw."""
    return tuple(
        _figure(design, numbers, printed)
        for design in family.figures
        if design.when is None or truth("figure when", design.when, numbers.values)
    )


def options(family: Family, numbers: Numbers, stream: NumberStream, printed: Printed) -> tuple[Option, ...]:
    """Return the options shown, in drawn order; raises DrawFault unless exactly one is the key."""
    designs = (*family.options, *(numbers.case.options if numbers.case else ()))
    shown = [_option(design, numbers, printed) for design in designs if _is_shown(design, numbers)]
    if not shown:
        return ()
    keys = [option.name for option in shown if option.is_key]
    if len(keys) != 1:
        raise DrawFault(f"option: {len(keys)} options are the key ({', '.join(keys) or 'none'}); exactly one must be")
    return tuple(_chosen(family, shown, stream))


def steps(family: Family, stream: NumberStream, printed: Printed) -> tuple[Step, ...]:
    """Return the steps in a drawn order that is not a right one already, where there is such an order."""
    if not family.steps:
        return ()
    made = [
        Step(name=step.name, text=fill(f"step {step.name}", step.text, printed), after=step.after, because=step.because)
        for step in family.steps
    ]
    order = stream.shuffled(made)
    for _ in range(20):
        if not is_valid_order(order):
            break
        order = stream.shuffled(made)
    return tuple(order)


def _drawn(design: RangeDraw | ListDraw, numbers: Numbers) -> Drawn:
    value = numbers.values[design.name]
    assert isinstance(value, Decimal)
    if isinstance(design, ListDraw):
        printed = _word(design, value, numbers) if design.words else print_exact(value)
    else:
        fixed = design.is_fixed
        printed = print_number(
            value, design.fixed_decimals if fixed else design.decimals(design.low.number(numbers.values))
        )
    return Drawn(name=design.name, value=value, printed=printed, unit=design.unit)


def _word(design: ListDraw, value: Decimal, numbers: Numbers) -> str:
    at = next(at for at, item in enumerate(design.values) if item.number(numbers.values) == value)
    return design.words[at]


@lru_cache(maxsize=256)
def _unit_labels(units: tuple[str, ...], own_label: str) -> tuple[str, ...]:
    labels = tuple(UNITS[code].label for code in units)
    return (own_label, *labels[1:]) if own_label else labels


def _idea(value: IdeaValue, decimals: int, printed: Printed, keys: Printed) -> Idea:
    while value.value and not round(value.value, decimals) and decimals < MOST_DECIMALS:
        decimals += 1
    shown = print_number(value.value, decimals)
    says = fill(f"wrong_idea {value.idea.name} says", value.idea.says, printed, {**keys, "this": shown})
    return Idea(name=value.idea.name, value=value.value, tolerance=value.tolerance, printed=shown, says=says)


def _figure(design: FigureDesign, numbers: Numbers, printed: Printed) -> FigureSpec:
    where = f"figure {design.instrument}"
    return FigureSpec(
        instrument=design.instrument,
        numbers={
            name: tuple(number(f"{where} {name}", formula, numbers.values) for formula in series)
            for name, series in design.numbers.items()
        },
        words={name: fill(f"{where} {name}", text, printed) for name, text in design.words.items()},
        alt=fill(f"{where} alt", design.alt, printed),
    )


def _is_shown(design: OptionDesign, numbers: Numbers) -> bool:
    return design.when is None or truth(f"option {design.name} when", design.when, numbers.values)


def _option(design: OptionDesign, numbers: Numbers, printed: Printed) -> Option:
    where = f"option {design.name}"
    is_key = truth(f"{where} key", design.is_key, numbers.values)
    credit = number(f"{where} credit", design.credit, numbers.values) if design.credit else Decimal(0)
    if not 0 <= credit < 1:
        raise DrawFault(f"{where} credit: {credit} is not from 0 up to, but below, 1")
    return Option(
        name=design.name,
        text=fill(f"{where} text", design.text, printed),
        is_key=is_key,
        credit=Decimal(1) if is_key else credit,
        wrong_idea="" if is_key else design.wrong_idea,
        says=fill(f"{where} says", design.says, printed),
    )


def _chosen(family: Family, shown: list[Option], stream: NumberStream) -> list[Option]:
    wanted = family.options_shown or len(shown)
    others = [option for option in shown if not option.is_key]
    kept = {option.name for option in stream.shuffled(others)[: wanted - 1]}
    chosen = [option for option in shown if option.is_key or option.name in kept]
    return chosen if family.options_in_order else stream.shuffled(chosen)
