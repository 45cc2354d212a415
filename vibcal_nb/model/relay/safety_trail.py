"""How protection was taken out of service on the day of a visit, and how it came back: as those who did it state it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass


@dataclass(frozen=True, kw_only=True)
class Inhibit:
    """Protection that was inhibited: under which ``permit``, of which ``channels``, from ``off`` to ``on``.

    Times are as typed, ``HH:MM``; None where none is stated. ``by`` did it, ``told`` are those who were told, ``logic``
    is what remained of the voting meanwhile.
    """

    permit: str
    channels: tuple[str, ...]
    off: str
    on: str | None = None
    by: str
    told: tuple[str, ...]
    logic: str | None = None


@dataclass(frozen=True, kw_only=True)
class ReturnToService:
    """Protection that was proved back in service: by whom, when (``HH:MM``), and by which ``checks``, as sentences."""

    by: str
    at: str
    checks: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class SafetyTrail:
    """What a visit states of protection that was inhibited; both parts None where it states nothing."""

    inhibit: Inhibit | None = None
    returned: ReturnToService | None = None

    def of(self, tags: Iterable[str]) -> SafetyTrail:
        """Return what is stated of some channels; nothing where none of them was inhibited."""
        if self.inhibit is None:
            return SafetyTrail()
        own = tuple(tag for tag in self.inhibit.channels if tag in set(tags))
        if not own:
            return SafetyTrail()
        inhibit = Inhibit(**{**{name: getattr(self.inhibit, name) for name in _FIELDS}, "channels": own})
        return SafetyTrail(inhibit=inhibit, returned=self.returned)

    @property
    def open_since(self) -> str | None:
        """When protection was inhibited that is not proved back in service; None where nothing is open."""
        if self.inhibit is None or (self.inhibit.on is not None and self.returned is not None):
            return None
        return self.inhibit.off


_FIELDS = ("permit", "off", "on", "by", "told", "logic")
