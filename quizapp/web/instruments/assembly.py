"""A line drawing of the assembled breathing system, from supply to patient, with one fault or none."""

from __future__ import annotations

from dataclasses import dataclass

FAULTS = ("none", "open_joint", "filter_wrong_side", "open_gauge_port", "restraint_left", "tube_under_strap")
BASE_Y = 120


@dataclass(frozen=True, kw_only=True)
class Piece:
    """One part: a box with its name, or a smaller part without one."""

    name: str
    x: int
    y: int
    width: int
    height: int


@dataclass(frozen=True, kw_only=True)
class Assembly:
    """Everything the drawing is made of, in a field of 520 by 220."""

    pieces: tuple[Piece, ...]
    tubes: tuple[str, ...]
    straps: tuple[str, ...]
    ties: tuple[str, ...]
    description: str


def assembly(fault: str) -> Assembly:
    """Return the drawing: supply tube, device with gauge and rate control, filter, patient connector.

    Raises ValueError for a fault that has no drawing. The words say what is where, not what is wrong.
    """
    if fault not in FAULTS:
        raise ValueError(f"{fault!r} is not a fault that can be drawn; there are {', '.join(FAULTS)}")
    gap = 16 if fault == "open_joint" else 0
    filter_x = 92 if fault == "filter_wrong_side" else 318
    port = () if fault == "open_gauge_port" else (Piece(name="gauge", x=206, y=28, width=58, height=40),)
    return Assembly(
        pieces=(
            Piece(name="supply", x=8, y=BASE_Y - 22, width=64, height=44),
            Piece(name="device", x=176, y=BASE_Y - 32, width=118, height=64),
            Piece(name="filter", x=filter_x, y=BASE_Y - 26, width=60, height=52),
            Piece(name="patient", x=432 + gap, y=BASE_Y - 18, width=70, height=36),
            *port,
        ),
        tubes=_tubes(fault, gap),
        straps=("M118 62V178M130 62V178",) if fault == "tube_under_strap" else (),
        ties=("M240 152h44v36h-44zM240 152l44 36M284 152l-44 36",) if fault == "restraint_left" else (),
        description=_words(fault),
    )


def _tubes(fault: str, gap: int) -> tuple[str, ...]:
    port = f"M229 {BASE_Y - 32}V{BASE_Y - 50}M241 {BASE_Y - 32}V{BASE_Y - 50}" if fault == "open_gauge_port" else ""
    stem = port or f"M235 {BASE_Y - 32}V68"
    supply = f"M72 {BASE_Y}H92M152 {BASE_Y}H176" if fault == "filter_wrong_side" else f"M72 {BASE_Y}H176"
    if fault == "tube_under_strap":
        supply = f"M72 {BASE_Y}H108C114 {BASE_Y} 116 {BASE_Y + 7} 124 {BASE_Y + 7}S134 {BASE_Y} 140 {BASE_Y}H176"
    patient = f"M294 {BASE_Y}H432" if fault == "filter_wrong_side" else f"M294 {BASE_Y}H318M378 {BASE_Y}H432"
    end = f"M{432 + gap} {BASE_Y - 10}v20M432 {BASE_Y - 10}v20" if gap else ""
    knob = f"M262 {BASE_Y + 32}v10M248 {BASE_Y + 42}h28v14h-28z"
    return tuple(part for part in (supply, patient, stem, knob, end) if part)


def _words(fault: str) -> str:
    order = "supply, filter, device, patient" if fault == "filter_wrong_side" else "supply, device, filter, patient"
    said = {
        "open_joint": " Between the last tube and the patient there is a space.",
        "open_gauge_port": " On top of the device stands a short open port.",
        "restraint_left": " Something is tied around the control under the device.",
        "tube_under_strap": " A strap runs across the supply tube, which is bent there.",
    }
    top = "" if fault == "open_gauge_port" else " A gauge stands on top of the device."
    return f"Line drawing of a breathing system, from left to right: {order}.{top}{said.get(fault, '')}"
