"""A reference's certificate held against its entry in equipment.toml: what it gives, and where the two do not fit.

What is said twice must be said alike: the serial number, the day of calibration, an uncertainty that is no smaller
than the certificate's. What the entry leaves out, the certificate gives: the uncertainty by frequency, and its own
name. When it is due is seldom in a certificate, and stays the entry's.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path
from typing import Any

from vibcal_nb.inputs.certificates.certificate import Certificate
from vibcal_nb.inputs.certificates.read_certificate import CertificateRefused, read_certificate_file
from vibcal_nb.inputs.certificates.sensitivity import CertifiedPoint, CertifiedSensitivity, find_sensitivity
from vibcal_nb.problems import shown

_ALIKE = 1e-6


@dataclass(frozen=True, kw_only=True)
class ReferenceCertificate:
    """A certificate and the sensitivity over frequency in it."""

    certificate: Certificate
    sensitivity: CertifiedSensitivity

    @property
    def name(self) -> str:
        """Its identifier and who issued it."""
        return ", ".join(filter(None, (self.certificate.identifier, self.certificate.laboratory)))

    @property
    def taken(self) -> str:
        """What it gives, in one sentence without its full stop."""
        points = self.sensitivity.points
        U = [point.expanded_pct for point in points]
        spread = " to ".join(dict.fromkeys(f"{value:.3g}" for value in (min(U), max(U))))
        phase = "with phase" if points[0].phase_deg is not None else "without phase"
        reach, serials = f"{points[0].hz:g} to {points[-1].hz:g} Hz", ", ".join(self.certificate.serials)
        return (
            f"{self.certificate.file}: certificate {self.name}, calibrated {self.certificate.end}; took the "
            f"sensitivity at {len(points)} frequencies, {reach}, {phase}, U {spread} %, serial {serials}"
        )

    def bands(self) -> list[dict[str, float]]:
        """Return the uncertainty between neighbouring frequencies: the larger of both ends, with its k.

        Nothing is stated beyond the lowest and the highest frequency.
        """
        points = self.sensitivity.points
        return [_band(first, second) for first, second in pairwise(points)]


def _band(first: CertifiedPoint, second: CertifiedPoint) -> dict[str, float]:
    wider = max(first, second, key=lambda point: point.expanded_pct / point.k)
    return {"from_hz": first.hz, "to_hz": second.hz, "expanded_pct": wider.expanded_pct, "k": wider.k}


def open_reference_certificate(site: Path, name: str) -> ReferenceCertificate:
    """Open a certificate that a site's file names. Raises ``CertificateRefused``."""
    path = site / name
    try:
        inside = path.resolve().is_relative_to(site.resolve())
    except (OSError, ValueError):
        inside = False
    if not inside or Path(name).is_absolute():
        raise CertificateRefused(f"{shown(name)} leads out of the site's folder; put the file itself there.")
    certificate = read_certificate_file(path)
    sensitivity = find_sensitivity(certificate)
    if len(sensitivity.points) < 2:
        raise CertificateRefused(f"{path.name}: found one frequency alone; a reference needs its range.")
    return ReferenceCertificate(certificate=certificate, sensitivity=sensitivity)


def misfits(found: ReferenceCertificate, stated: Mapping[str, Any]) -> Iterator[tuple[str, str, str]]:
    """Yield the key, what was found, and what to do, wherever the entry and its certificate do not fit."""
    certificate = found.certificate
    serial, known = str(stated.get("serial") or ""), certificate.serials
    if not serial.strip():
        yield "serial", "nothing beside certificate_file", f"give the serial number, one of {', '.join(known)}"
    elif _plain(serial) not in map(_plain, known):
        yield (
            "serial",
            f"{shown(serial)}, and the certificate is of {', '.join(known)}",
            "give the certificate of this item",
        )
    day = stated.get("calibrated")
    if day is not None and not certificate.begin <= day <= certificate.end:
        yield (
            "calibrated",
            f"{day}, and the certificate says {certificate.end}",
            "give the day that the certificate states",
        )
    if certificate.due is not None and stated.get("due") is not None and stated["due"] > certificate.due:
        yield "due", f"{stated['due']}, and the certificate recommends {certificate.due}", "take the earlier day"
    if stated.get("quantity", "vibration") != "vibration":
        yield "certificate_file", f"a sensitivity in {found.sensitivity.unit}", 'leave quantity out, or "vibration"'
    yield from _smaller_uncertainty(found, stated.get("uncertainty"))


def _smaller_uncertainty(found: ReferenceCertificate, bands: Any) -> Iterator[tuple[str, str, str]]:
    """An entry's own uncertainty may be larger than its certificate's, and never smaller, nor reach further."""
    points = found.sensitivity.points
    for band in bands if isinstance(bands, list) else ():
        try:
            low, high, u = float(band["from_hz"]), float(band["to_hz"]), float(band["expanded_pct"]) / float(band["k"])
        except (TypeError, KeyError, ValueError, ZeroDivisionError):
            continue  # said of the band itself
        if low < points[0].hz * (1 - _ALIKE) or high > points[-1].hz * (1 + _ALIKE):
            reach = f"{points[0].hz:g} to {points[-1].hz:g} Hz"
            yield "uncertainty", f"{low:g} to {high:g} Hz, and the certificate reaches from {reach}", "keep to that"
        for point in points:
            if low <= point.hz <= high and u < point.expanded_pct / point.k * (1 - _ALIKE):
                said = (
                    f"u of {u:.3g} % at {point.hz:g} Hz, and the certificate's is {point.expanded_pct / point.k:.3g} %"
                )
                yield "uncertainty", said, "leave it out, and the certificate's is taken"
                break


def _plain(serial: str) -> str:
    return "".join(serial.split()).casefold()
