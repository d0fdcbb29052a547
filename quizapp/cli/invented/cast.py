"""The invented people: three bases, sixty clinicians and two administrators, the same for the same seed."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from random import Random

from faker import Faker

from quizapp.assessment.roles import Role

SEED = 20_260
BASES = (
    ("CAI", "Cairnlow", "mountain, helicopter and winch", 24),
    ("SKE", "Skerrandy", "island, boat and small aircraft", 16),
    ("POR", "Port Venn", "road and coast", 20),
)
PROFESSIONS = ("flight paramedic", "flight paramedic", "paramedic", "doctor", "nurse")


@dataclass(frozen=True, kw_only=True)
class Member:
    """One invented person of the service."""

    staff_number: str
    name: str
    profession: str
    base: str
    sign_in_name: str
    joined_on: date
    roles: tuple[Role, ...] = ()


POSTS: dict[int, tuple[Role, ...]] = {
    0: (Role.TEAM_LEAD,),
    1: (Role.EDUCATOR,),
    2: (Role.ASSESSOR,),
    3: (Role.ASSESSOR,),
}


def administrators() -> tuple[Member, Member]:
    """Return the two who found the service; they are no clinicians."""
    names = _names(Random(SEED + 1))  # noqa: S311 - invented data
    first, second = next(names), next(names)
    return (
        Member(staff_number="TIR-001", name=first, profession="administrator", base="CAI", sign_in_name="admin.one",
               joined_on=date(2020, 1, 6)),
        Member(staff_number="TIR-002", name=second, profession="administrator", base="POR", sign_in_name="admin.two",
               joined_on=date(2020, 1, 6)),
    )  # fmt: skip


def clinicians(first_day: date) -> list[Member]:
    """Return the sixty clinicians, base by base; the first ones of a base lead, teach and observe."""
    chance = Random(SEED)  # noqa: S311 - invented data
    names, taken = _names(chance), set[str]()
    members: list[Member] = []
    for base, _name, _setting, count in BASES:
        for place in range(count):
            name = next(names)
            members.append(
                Member(
                    staff_number=f"TIR-{100 + len(members)}",
                    name=name,
                    profession=chance.choice(PROFESSIONS),
                    base=base,
                    sign_in_name=_sign_in_name(name, taken),
                    joined_on=first_day - timedelta(days=chance.randint(60, 3000)),
                    roles=POSTS.get(place, ()),
                )
            )
    return members


def _names(chance: Random) -> Iterator[str]:
    """Give invented names, each once."""
    faker, seen = Faker("en_GB"), set[str]()
    faker.seed_instance(chance.randint(0, 10**9))
    while True:
        name = f"{faker.first_name()} {faker.last_name()}"
        if name not in seen:
            seen.add(name)
            yield name


def _sign_in_name(name: str, taken: set[str]) -> str:
    plain = "".join(
        sign for sign in name.casefold().replace(" ", ".") if sign.isascii() and (sign.isalpha() or sign == ".")
    )
    found = plain
    number = 2
    while found in taken:
        found, number = f"{plain}{number}", number + 1
    taken.add(found)
    return found
