"""What tests of structured discussions share: the guide accepted, a discussion opened, written down, signed."""

from __future__ import annotations

from collections.abc import Collection

from quizapp.assessment.discussions import DiscussionMark
from quizapp.content.library import Library
from quizapp.services.act import Act
from quizapp.services.discussions import DiscussionKept, Said, open_discussion, save_discussion
from quizapp.services.sign_discussion import prepare_discussion, sign_discussion
from quizapp.store.accepted_content import ContentAcceptance
from tests.small_service import PASSWORD, SmallService


def everybody_is_current(act: Act, *, person_id: str, competencies: Collection[str]) -> bool:
    return True


def nobody_is_current(act: Act, *, person_id: str, competencies: Collection[str]) -> bool:
    return False


def accept_guides(small: SmallService, library: Library) -> None:
    """Let the clinical lead have accepted every guide."""
    with small.acting("cleo") as act:
        for guide in library.discussions.values():
            act.session.add(
                ContentAcceptance(
                    id=act.randomness.new_id(), kind="discussion", code=guide.code, content_hash=guide.content_hash,
                    accepted_by=act.actor.person_id, accepted_at=act.now, local_changes="",
                )
            )  # fmt: skip


def kept(marks: str = "222222", *, errors: Collection[str] = (), person_words: str = "") -> DiscussionKept:
    """Answers with words and the marks given letter by letter; "-" was not asked."""
    return DiscussionKept(
        answers={
            letter: Said(words=f"said to {letter}", mark=DiscussionMark(int(sign)))
            for letter, sign in zip("abcdef", marks, strict=True)
            if sign != "-"
        },
        critical_errors=tuple(errors),
        person_words=person_words,
    )


def opened(small: SmallService, library: Library, *, by: str = "tor", of: str = "mira", code: str = "D02") -> str:
    with small.acting(by) as act:
        return open_discussion(act, library, person_id=small.person_id(of), code=code)


def written(small: SmallService, library: Library, discussion_id: str, what: DiscussionKept, *, by: str = "tor") -> str:
    with small.acting(by) as act:
        return save_discussion(act, library, discussion_id=discussion_id, kept=what)


def signed(small: SmallService, discussion_id: str, *, by: str = "tor", password: str = PASSWORD) -> str:
    with small.acting(by) as act:
        intent_id = prepare_discussion(act, discussion_id=discussion_id, is_current=everybody_is_current)
    with small.acting(by) as act:
        return sign_discussion(act, intent_id=intent_id, password=password, is_current=everybody_is_current)


def held(
    small: SmallService,
    library: Library,
    *,
    marks: str = "222222",
    by: str = "tor",
    of: str = "mira",
    code: str = "D02",
) -> str:
    """Hold and sign a whole discussion; return its id."""
    discussion_id = opened(small, library, by=by, of=of, code=code)
    written(small, library, discussion_id, kept(marks), by=by)
    return signed(small, discussion_id, by=by)
