"""What a site states of itself: who calibrates for whom and where, and who may sign records off."""

from __future__ import annotations

from dataclasses import dataclass, field

PLACES = ("laboratory", "customer", "laboratoryBranch", "customerBranch", "other")
"""Where the work may be done, in the words of the schema of certificates (``performanceLocation``)."""


@dataclass(frozen=True, kw_only=True)
class Party:
    """A name with its address; what is not stated is empty."""

    name: str = ""
    street: str = ""
    post_code: str = ""
    city: str = ""
    country: str = ""
    email: str = ""

    @property
    def has_address(self) -> bool:
        """Whether it states where it is."""
        return bool(self.street or self.post_code or self.city or self.country)


@dataclass(frozen=True, kw_only=True)
class ReviewRule:
    """Who may sign records off.

    ``same_person``: whether who performed a visit may review it, too. ``reviewers``: who may review at all; anybody
    where it is empty.
    """

    same_person: bool = False
    reviewers: tuple[str, ...] = ()


@dataclass(frozen=True, kw_only=True)
class SiteFacts:
    """The facts of a site. ``country`` is where certificates are issued, as ISO 3166-1 writes it in two letters."""

    country: str = ""
    place: str = ""
    laboratory: Party = field(default_factory=Party)
    customer: Party = field(default_factory=Party)
    review: ReviewRule = field(default_factory=ReviewRule)
