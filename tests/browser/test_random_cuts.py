"""Many observations with the network cut at random, pages loaded again, answers lost, marks sent twice and shuffled."""

from __future__ import annotations

import random
from collections.abc import Callable
from dataclasses import dataclass, field

import pytest
from playwright.sync_api import Page, Route, expect
from sqlalchemy import func, select

from quizapp.services.observation_sheet import own_sheet
from quizapp.store.observations import LateEvent, ObservationEvent
from tests.browser.observing_in_browser import made_ready, row
from tests.observing import opened
from tests.small_service import SmallService

SignIn = Callable[[Page, str], None]
STEPS = "abcdefghijkl"
SEND_AGAIN = """async ([address, seed]) => {
    const given = await (await fetch(address, {headers: {Accept: 'application/json'}})).json();
    const rank = event => (parseInt(event.event_id.slice(0, 8), 16) * (seed + 1)) % 10007;
    const events = given.events.sort((a, b) => rank(a) - rank(b)).slice(0, 1 + seed % 8);
    if (!events.length) return [];
    const answer = await fetch(address, {method: 'POST', body: JSON.stringify({events: [...events, events[0]]}),
        headers: {'Content-Type': 'application/json', 'X-CSRFToken': given.csrf_token}});
    return (await answer.json()).outcomes.map(one => one.taken);
}"""


@dataclass
class Trouble:
    """Does something to the page or the network between two taps; the same for the same seed."""

    page: Page
    chance: random.Random
    address: str
    is_cut: bool = False
    loses_next: bool = False
    lost: int = 0
    done: list[str] = field(default_factory=list)

    def strike(self) -> None:
        kind = self.chance.choice(["nothing", "nothing", "cut", "back", "reload", "lose", "again"])
        self.done.append(kind)
        if kind in {"cut", "back"}:
            self.is_cut = kind == "cut"
            self.page.context.set_offline(self.is_cut)
        elif kind == "reload":
            self.page.reload()
        elif kind == "lose":
            self.loses_next = True
        elif kind == "again" and not self.is_cut and not self.loses_next:
            taken = self.page.evaluate(SEND_AGAIN, [self.address + "/events", self.chance.randrange(1000)])
            assert set(taken) <= {"known"}

    def pass_on(self, route: Route) -> None:
        """Let requests through; when told so, the service takes the marks once and the answer never comes."""
        if route.request.method == "POST" and self.loses_next and not self.is_cut:
            self.loses_next = False
            route.fetch()
            self.lost += 1
            route.abort()
        else:
            route.continue_()

    def end(self) -> None:
        self.page.context.set_offline(False)
        self.page.reload()


@pytest.fixture
def ready(small_sqlite: SmallService) -> SmallService:
    return made_ready(small_sqlite)


@pytest.mark.parametrize("count", [4, pytest.param(200, marks=pytest.mark.soak)])
def test_no_mark_is_lost_and_none_doubled(
    phone: Page, live_server: str, ready: SmallService, sign_in_as: SignIn, count: int
) -> None:
    sign_in_as(phone, "tor")
    made = 0
    for seed in range(count):
        chance = random.Random(seed)
        observation_id = opened(ready, "k", "l")
        address = f"{live_server}/observe/{observation_id}"
        phone.goto(address)
        kept(phone, address)
        trouble = Trouble(phone, chance, address)
        phone.route("**/events", trouble.pass_on)
        order = chance.sample(STEPS, 8)
        for step in order:
            phone.locator(row(phone, step)).click()
            trouble.strike()
        trouble.end()
        expect(phone.locator(".under-thumb .state")).to_contain_text("8 marks are kept by", timeout=30_000)
        phone.unroute("**/events")
        made += len(order)
        with ready.acting("tor") as act:
            assert own_sheet(act, observation_id).state.performed == tuple(order), f"seed {seed}: {trouble.done}"
    with ready.database.reading() as session:
        stored = session.scalar(select(func.count()).select_from(ObservationEvent))
        late = session.scalar(select(func.count()).select_from(LateEvent))
    assert (stored, late) == (made, 0)


def kept(page: Page, address: str) -> None:
    """Wait until the device has its own copy of the sheet."""
    page.wait_for_function(
        """async address => {
            const names = (await caches.keys()).filter(name => name.startsWith('kept-'));
            const found = await Promise.all(names.map(async name =>
                (await caches.open(name)).match(new URL(address).pathname, {ignoreVary: true})));
            return Boolean(navigator.serviceWorker.controller) && found.some(Boolean);
        }""",
        arg=address,
    )
