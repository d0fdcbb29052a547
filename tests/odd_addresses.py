"""Ids and places that lead nowhere, as they stand in an address (percent-encoded)."""

ODD_IDS = [
    "0",
    "-1",
    "abc",
    "99999999999999999999",
    "0" * 32,
    "f" * 33,
    "x" * 4000,
    "%00",
    "a%00b",
    "%FF%FE",
    "%F0%9F%9A%81",
    "..%2F..",
    "%27%20OR%201%3D1",
]
ODD_POSITIONS = ["0", "-1", "4", "01", "1.0", "abc", "99999999999999999999", "%D9%A1", "1%00", "%00", "%FF", "1%20"]
