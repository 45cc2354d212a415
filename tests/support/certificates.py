"""Certificates of a reference, invented, in the shapes in which the schema admits a sensitivity over frequency."""

from __future__ import annotations

import os
from functools import cache
from pathlib import Path

HZ = (10.0, 40.0, 80.0, 160.0, 1000.0, 5000.0)
VALUES = (10.31, 10.28, 10.25, 10.24, 10.31, 10.62)  # mV/(m/s2)
DEGREES = (1.8, 0.4, 0.0, -0.2, -1.1, -5.6)
PCT, K = 1.2, 2.0
UNIT = r"\milli\volt\second\tothe{2}\metre\tothe{-1}"
SQUARE_DEGREE = r"\degree\tothe{2}"

_HEAD = """<?xml version="1.0" encoding="UTF-8"?>
<dcc:digitalCalibrationCertificate xmlns:dcc="https://ptb.de/dcc" xmlns:si="https://ptb.de/si"
 schemaVersion="{version}">
<dcc:administrativeData>
<dcc:dccSoftware><dcc:software>{bench}<dcc:release>v1.0</dcc:release></dcc:software></dcc:dccSoftware>
<dcc:coreData><dcc:countryCodeISO3166_1>GB</dcc:countryCodeISO3166_1>
<dcc:usedLangCodeISO639_1>en</dcc:usedLangCodeISO639_1><dcc:mandatoryLangCodeISO639_1>en</dcc:mandatoryLangCodeISO639_1>
<dcc:uniqueIdentifier>KF-CAL-0417</dcc:uniqueIdentifier>
<dcc:beginPerformanceDate>2025-06-30</dcc:beginPerformanceDate>
<dcc:endPerformanceDate>2025-07-01</dcc:endPerformanceDate>
<dcc:performanceLocation>laboratory</dcc:performanceLocation></dcc:coreData>
<dcc:items><dcc:item>{item}<dcc:identifications><dcc:identification><dcc:issuer>manufacturer</dcc:issuer>
<dcc:value>KF-0417</dcc:value>{serial}</dcc:identification></dcc:identifications></dcc:item></dcc:items>
<dcc:calibrationLaboratory><dcc:contact>{lab}
<dcc:location><dcc:city>Kestrel Fold</dcc:city></dcc:location></dcc:contact>
</dcc:calibrationLaboratory>
<dcc:respPersons><dcc:respPerson><dcc:person>{person}</dcc:person></dcc:respPerson></dcc:respPersons>
<dcc:customer>{plant}<dcc:location><dcc:city>Kestrel Fold</dcc:city></dcc:location></dcc:customer>
</dcc:administrativeData>
<dcc:measurementResults>
<dcc:usedMethods><dcc:usedMethod>{method}<dcc:norm>ISO 16063-21:2003</dcc:norm></dcc:usedMethod></dcc:usedMethods>
<dcc:influenceConditions><dcc:influenceCondition>{room}<dcc:data><dcc:text><dcc:content lang="en">room</dcc:content>
</dcc:text></dcc:data></dcc:influenceCondition></dcc:influenceConditions>
<dcc:measurementResult>{result}<dcc:results><dcc:result>{table}<dcc:data>"""
_TAIL = (
    "</dcc:data></dcc:result></dcc:results></dcc:measurementResult></dcc:measurementResults>"
    "</dcc:digitalCalibrationCertificate>"
)


def name(text):
    return f'<dcc:name><dcc:content lang="en">{text}</dcc:content></dcc:name>'


def certificate(data, *, version="3.3.0"):
    """A whole certificate around the data of its one result."""
    words = {
        "bench": "bench",
        "item": "reference accelerometer",
        "serial": "serial number",
        "lab": "Calibration workshop",
        "person": "Engineer E",
        "plant": "District-energy plant",
        "method": "comparison",
        "room": "temperature",
        "result": "calibration",
        "table": "sensitivity over frequency",
    }
    return (_HEAD.format(version=version, **{k: name(v) for k, v in words.items()}) + data + _TAIL).encode()


def numbers(values):
    return " ".join(repr(value) for value in values)


def real_list(values, unit, uncertainty=""):
    return (
        f"<si:realListXMLList><si:valueXMLList>{numbers(values)}</si:valueXMLList>"
        f"<si:unitXMLList>{unit}</si:unitXMLList>{uncertainty}</si:realListXMLList>"
    )


def quantity(ref_type, title, inside):
    return f'<dcc:quantity refType="{ref_type}">{name(title)}{inside}</dcc:quantity>'


def expanded(values, *, deprecated=False, k=K):
    U = numbers(PCT / 100.0 * value for value in values)
    known = f"<si:coverageFactorXMLList>{k}</si:coverageFactorXMLList>"
    known += "<si:coverageProbabilityXMLList>0.95</si:coverageProbabilityXMLList>"
    if deprecated:
        return (
            f"<si:expandedUncXMLList><si:uncertaintyXMLList>{U}</si:uncertaintyXMLList>{known}</si:expandedUncXMLList>"
        )
    inside = f"<si:valueExpandedMUXMLList>{U}</si:valueExpandedMUXMLList>{known}"
    return (
        "<si:measurementUncertaintyUnivariateXMLList><si:expandedMUXMLList>"
        f"{inside}</si:expandedMUXMLList></si:measurementUncertaintyUnivariateXMLList>"
    )


def lists(*, deprecated=False, phase=True, version="3.3.0", values=VALUES, uncertainty=None):
    """Three lists of one length, the sensitivity first, so that no reader goes by the place."""
    own = expanded(values, deprecated=deprecated) if uncertainty is None else uncertainty
    parts = [
        quantity("basic_measuredValue x_sensitivity", "sensitivity, magnitude", real_list(values, UNIT, own)),
        quantity("vib_phase", "phase", real_list(DEGREES, r"\degree")) if phase else "",
        quantity("basic_tableIndex0 vib_frequency", "frequency", real_list(HZ, r"\hertz")),
    ]
    return certificate(f'<dcc:list refType="basic_1IndexTable">{"".join(parts)}</dcc:list>', version=version)


def rows():
    """An ``si:list`` of rows, each a list of labelled numbers."""

    def leaf(label, value, unit, U=None):
        own = (
            f"<si:expandedUnc><si:uncertainty>{U!r}</si:uncertainty><si:coverageFactor>{K}</si:coverageFactor>"
            "<si:coverageProbability>0.95</si:coverageProbability></si:expandedUnc>"
        )
        return (
            f"<si:real><si:label>{label}</si:label><si:value>{value!r}</si:value><si:unit>{unit}</si:unit>"
            f"{own if U is not None else ''}</si:real>"
        )

    inside = "".join(
        "<si:realList>"
        + leaf("frequency", f, r"\hertz")
        + leaf("sensitivity magnitude", value, UNIT, PCT / 100.0 * value)
        + leaf("sensitivity phase", phase, r"\degree")
        + "</si:realList>"
        for f, value, phase in zip(HZ, VALUES, DEGREES, strict=True)
    )
    return certificate(f"<dcc:quantity>{name('calibration')}<si:list>{inside}</si:list></dcc:quantity>")


def polar():
    """Magnitude and phase in one list of complex numbers, with covariances point by point."""

    def column(first, second):
        return "".join(
            f"<si:covarianceXMLList><si:valueXMLList>{numbers(values)}</si:valueXMLList>"
            f"<si:unitXMLList>{unit}</si:unitXMLList></si:covarianceXMLList>"
            for values, unit in (first, second)
        )

    u = [(PCT / 100.0 * value / K) ** 2 for value in VALUES]
    none, phase = [0.0] * len(u), [0.01] * len(u)
    inside = (
        f"<si:complexListXMLList><si:valueMagnitudeXMLList>{numbers(VALUES)}</si:valueMagnitudeXMLList>"
        f"<si:valuePhaseXMLList>{numbers(DEGREES)}</si:valuePhaseXMLList><si:unitXMLList>{UNIT}</si:unitXMLList>"
        r"<si:unitPhaseXMLList>\degree</si:unitPhaseXMLList>"
        "<si:measurementUncertaintyBivariateXMLList><si:ellipsoidalRegionMUXMLList><si:covarianceMatrixXMLList>"
        f"<si:columnXMLList>{column((u, UNIT + UNIT), (none, UNIT))}</si:columnXMLList>"
        f"<si:columnXMLList>{column((none, UNIT), (phase, SQUARE_DEGREE))}</si:columnXMLList>"
        "</si:covarianceMatrixXMLList><si:coverageFactorXMLList>2.45</si:coverageFactorXMLList>"
        "<si:coverageProbabilityXMLList>0.95</si:coverageProbabilityXMLList></si:ellipsoidalRegionMUXMLList>"
        "</si:measurementUncertaintyBivariateXMLList></si:complexListXMLList>"
    )
    return certificate(
        "<dcc:list>"
        + quantity("vib_frequency", "frequency", real_list(HZ, r"\hertz"))
        + quantity("x_complexSensitivity", "sensitivity", inside)
        + "</dcc:list>"
    )


def hybrid(*, wrong=1.0):
    """The sensitivity in D-SI units and beside it in another unit, here V/(m/s2)."""
    other = [value / 1000.0 * wrong for value in VALUES]
    both = real_list(VALUES, UNIT, expanded(VALUES)) + real_list(
        other, r"\volt\second\tothe{2}\metre\tothe{-1}", expanded(other)
    )
    return certificate(
        "<dcc:list>"
        + quantity("x_sensitivity", "sensitivity", f"<si:hybrid>{both}</si:hybrid>")
        + quantity("vib_phase", "phase", real_list([d * 0.017453292519943295 for d in DEGREES], r"\radian"))
        + quantity("vib_frequency", "frequency", real_list(HZ, r"\hertz"))
        + "</dcc:list>"
    )


SHAPES = {
    "lists with expandedMU": lists,
    "lists with the deprecated expandedUnc": lambda: lists(deprecated=True),
    "labelled rows": rows,
    "polar pairs": polar,
    "a hybrid of two units": hybrid,
}


def schema_folder():
    """The folder of schemas that the environment names; None where it names none."""
    named = os.environ.get("DCC_SCHEMAS")
    if not named:
        return None
    folder = Path(named)
    return folder if (folder / "v3.3.0" / "dcc.xsd").is_file() else folder / "xsd"


@cache
def validators():
    """Two validators of the schema that share no code: lxml (libxml2) and xmlschema."""
    import xmlschema
    from lxml import etree

    path = schema_folder() / "v3.3.0" / "dcc.xsd"
    return etree.XMLSchema(etree.parse(str(path))), xmlschema.XMLSchema(str(path), allow="local")


def schema_problems(data):
    """What either validator says against a certificate."""
    from lxml import etree

    first, second = validators()
    tree = etree.fromstring(data)
    own = [] if first.validate(tree) else [str(first.error_log.last_error)]
    return own + [str(error) for error in second.iter_errors(data.decode("utf-8"))]
