"""The PDF files of the sample, made once for all tests that look at them."""

from __future__ import annotations

from typing import Any

import pytest

from liningbook.show.paper.card_sheet import CardStyle
from tests.rendering import sample_view as sample

EPOCH = 1_756_684_800
BUNDLE = b'{"digest":"' + sample.DIGEST.encode() + '","title":"Pulp protection \u2264 0.5 mm"}'.encode()


@pytest.fixture(scope="session")
def epoch() -> int:
    return EPOCH


@pytest.fixture(scope="session")
def bundle() -> bytes:
    return BUNDLE


@pytest.fixture(scope="session")
def protocol(pango: None) -> bytes:  # noqa: ARG001
    """The sample's printed protocol."""
    from liningbook.show.paper.pdf import protocol_pdf

    return protocol_pdf(sample.protocol_view(), BUNDLE, EPOCH)


@pytest.fixture(scope="session")
def draft_protocol(pango: None) -> bytes:  # noqa: ARG001
    """The same as a draft with open findings."""
    from liningbook.show.paper.pdf import protocol_pdf

    return protocol_pdf(sample.protocol_view(identity=sample.DRAFT), BUNDLE, EPOCH)


@pytest.fixture(scope="session")
def card_and_style(pango: None) -> tuple[bytes, CardStyle]:  # noqa: ARG001
    """The sample's card, and how it was set."""
    from liningbook.show.paper import pdf

    chosen: list[CardStyle] = []
    original = pdf.fit_cards

    def kept(*given: Any) -> list[CardStyle]:
        chosen.extend(original(*given))
        return chosen

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(pdf, "fit_cards", kept)
        made = pdf.card_pdf(sample.card_view(), EPOCH)
    return made, chosen[0]


@pytest.fixture(scope="session")
def card(card_and_style: tuple[bytes, CardStyle]) -> bytes:
    """The sample's card."""
    return card_and_style[0]


@pytest.fixture(scope="session")
def a5_cards(pango: None) -> bytes:  # noqa: ARG001
    """Two A5 cards of the sample, of one restoration each."""
    from liningbook.show.paper.pdf import card_pdf

    return card_pdf([sample.small_card("A5", column) for column in (0, 1)], EPOCH)


@pytest.fixture(scope="session")
def a6_cards(pango: None) -> bytes:  # noqa: ARG001
    """An A6 card of the sample."""
    from liningbook.show.paper.pdf import card_pdf

    return card_pdf([sample.small_card("A6")], EPOCH)


@pytest.fixture(scope="session")
def draft_card(pango: None) -> bytes:  # noqa: ARG001
    """The same as a draft with open findings."""
    from liningbook.show.paper.pdf import card_pdf

    return card_pdf(sample.card_view(identity=sample.DRAFT), EPOCH)
