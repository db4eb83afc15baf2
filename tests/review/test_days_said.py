"""A shift that ends on another day says so, whichever way a tablet's clock was wrong."""

import pytest

from cabapp.review.digits import days_text


@pytest.mark.parametrize(
    ("days", "said"), [(0, ""), (1, " (+1 day)"), (2, " (+2 days)"), (-147, " (−147 days)")]
)
def test_days_carry_one_sign_and_their_number(days, said):
    assert days_text(days) == said
