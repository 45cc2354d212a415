"""What `check` asks about a visit: its day, its limits, its copies; and what it does not ask."""

from __future__ import annotations

import re
from datetime import date

import pytest

from tests.support.sites.plants import ASSET, EQUIPMENT, VISIT, build_site, linearity_rows
from vibcal_nb.analysis.questions.ask import ask_about
from vibcal_nb.analysis.questions.progress import progress
from vibcal_nb.inputs.load_visits import load_visit
from vibcal_nb.problems import InputRefused

TODAY = date(2026, 11, 29)


def asked(folder, *, earlier=()):
    return [question.sentence for question in ask_about(load_visit(folder), earlier=earlier, today=TODAY)]


def only(sentences):
    assert len(sentences) == 1, sentences
    return sentences[0]


def test_a_good_visit_raises_no_question(tmp_path):
    assert asked(build_site(tmp_path, linearity_rows())) == []


def test_the_folders_day_and_the_stated_one_are_held_against_each_other(tmp_path):
    visit = VISIT.replace("2026-05-19", "2026-09-15")
    sentence = only(asked(build_site(tmp_path, linearity_rows(), visit=visit)))
    assert sentence == (
        "visit.toml: the folder is named 2026-05-19 and date is 2026-09-15. Which of the two is the day?"
    )


@pytest.mark.parametrize(
    ("day", "said"),
    [("2126-05-19", "still to come"), ("1926-05-19", "more than 20 years ago"), ("2026-11-30", "still")],
)
def test_a_day_that_can_hardly_be_is_asked_about(tmp_path, day, said):
    home = build_site(tmp_path, linearity_rows(), visit=VISIT.replace("2026-05-19", day))
    assert any(said in sentence for sentence in asked(home.rename(home.with_name(day))))


def test_a_certificate_that_had_run_out_is_asked_about_with_the_one_that_was_valid(tmp_path):
    newer = EQUIPMENT[: EQUIPMENT.index("[[readout]]")].replace('"REF-1"', '"REF-2"')
    old = EQUIPMENT.replace("due = 2027-01-10\nuncertainty", "due = 2026-03-10\nuncertainty")
    sentence = only(asked(build_site(tmp_path, linearity_rows(), equipment=old + newer)))
    assert "the certificate of REF-1 had run out on 2026-03-10" in sentence
    assert sentence.endswith("Was REF-2 used?")


@pytest.mark.parametrize(
    ("tag", "said"),
    [
        ("SТG-1-V11", "holds CYRILLIC CAPITAL LETTER TE in place 2"),
        ("STG-1-V１１", "holds FULLWIDTH DIGIT ONE in place 8, FULLWIDTH DIGIT ONE in place 9"),
        ("STG-1-Ν11", "holds GREEK CAPITAL LETTER NU in place 7"),
    ],
)
def test_letters_that_are_taken_for_others_are_asked_about(tmp_path, tag, said):
    """Names of the characters as the Unicode Character Database gives them."""
    rows = [row.replace("STG-1-V11", tag) for row in linearity_rows()]
    home = build_site(tmp_path, rows, asset=ASSET.replace("STG-1-V11]", f'"{tag}"]').replace("STG-1-V11.", f'"{tag}".'))
    assert said in only(asked(home))


def test_names_that_look_alike_are_asked_about_and_a_tag_in_another_script_alone_is_not(tmp_path):
    more = '[channels."{0}"]\ninput_unit = "mm/s pk"\noutput_unit = "mV pk"\n'
    more += "nominal_sensitivity = 4.0\ntolerance_pct = 5.0\n"
    own = ASSET + more.format("НАСОС") + more.format("НACOC")
    home = build_site(tmp_path, linearity_rows(), asset=own)
    assert [text for text in asked(home) if "look alike" in text] == [
        "asset.toml: the tags 'НАСОС' and 'НACOC' look alike and are two. Is one meant for the other?"
    ]
    assert not any("'НАСОС' holds" in text for text in asked(home))


def test_a_character_that_shows_nothing_is_refused_and_shown(tmp_path):
    home = build_site(tmp_path, linearity_rows(), equipment=EQUIPMENT.replace('"D1"', '"D1\u200b"'))
    with pytest.raises(InputRefused, match=r"found 'D1\\u200b'"):
        load_visit(home)


def test_a_channel_of_the_table_that_only_looks_like_one_is_told_with_its_letter(tmp_path):
    rows = [row.replace("STG", "SТG") for row in linearity_rows()]
    with pytest.raises(InputRefused, match=r"'STG-1-V11' \(it holds CYRILLIC CAPITAL LETTER TE in place 2"):
        load_visit(build_site(tmp_path, rows))


def test_a_folder_of_another_asset_is_asked_about(tmp_path):
    sentence = only(asked(build_site(tmp_path, linearity_rows(), asset=ASSET.replace('"STG-1"', '"STG-2"'))))
    assert "folder is named STG-1 and its tag is STG-2" in sentence


def test_readings_without_limits_to_judge_them_by_are_asked_about(tmp_path):
    asset = re.sub(r"\[channels.STG-1-V11.sensor\].*", "", ASSET, flags=re.DOTALL)
    rows = [f"STG-1-V11,sensor-alone,as-found,{hz},10.0,m/s2 pk,50.1,pC pk,,,," for hz in (20, 40, 80)]
    sentence = only(asked(build_site(tmp_path, [*linearity_rows(), *rows], asset=asset)))
    assert "STG-1-V11 has sensor-alone readings and no [channels.STG-1-V11.sensor]" in sentence


def test_a_full_scale_below_the_trip_is_asked_about(tmp_path):
    asset = ASSET.replace("trip = 18.0", "trip = 18.0\nfull_scale = 15.0")
    sentence = only(asked(build_site(tmp_path, linearity_rows(), asset=asset)))
    assert "trip 18 lies above full_scale 15 mm/s pk" in sentence


def test_a_loop_whose_full_scale_is_not_20_mA_is_asked_about(tmp_path):
    asset = ASSET.replace(
        'output_unit = "mV pk"\nnominal_sensitivity = 4.0\n',
        'output_unit = "mA dc"\noutput_zero = 4.0\nnominal_sensitivity = 0.64\nfull_scale = 50.0\n',
        1,
    )
    rows = [
        f"STG-1-V11,linearity,as-found,50,{x},mm/s pk,{4 + 0.64 * x:.3f},mA dc,,,," for x in (2.01, 5.02, 10.03, 15.01)
    ]
    sentence = only(asked(build_site(tmp_path, rows, asset=asset)))
    assert "full_scale 50 mm/s pk would give 36 mA. Is nominal_sensitivity 0.32 mA per unit meant" in sentence


def test_a_rotor_given_in_rpm_as_hz_is_asked_about(tmp_path):
    asset = ASSET.replace("speed_rpm = 3000", "speed_hz = 3000")
    assert any(
        "Was 3000 rpm meant?" in sentence for sentence in asked(build_site(tmp_path, linearity_rows(), asset=asset))
    )


def test_a_chain_whose_parts_do_not_multiply_is_asked_about(tmp_path):
    module = """[channels.STG-1-V11.module]
input_unit = "pC pk"
output_unit = "mV pk"
nominal_sensitivity = 15.915
tolerance_pct = 5.0
reference_hz = 80
"""
    sentence = only(asked(build_site(tmp_path / "wrong", linearity_rows(), asset=ASSET + module)))
    assert "gives 40 at 80 Hz. Which of the three is off (the decimal mark is off)?" in sentence
    # 5 pC/(m/s2) times 2 pi 80 Hz / 1000 per mm/s times 1.5915 mV/pC are 4.00 mV/(mm/s)
    assert (
        asked(build_site(tmp_path / "right", linearity_rows(), asset=ASSET + module.replace("15.915", "1.5915"))) == []
    )


def test_a_line_at_no_rotors_speed_is_asked_about(tmp_path):
    rows = linearity_rows(hz=50) + linearity_rows(levels=(2.2, 5.1, 10.1, 15.2), hz=62)
    sentence = only(asked(build_site(tmp_path, rows)))
    assert "read for linearity at 62 Hz, and its rotors are turbine 50 Hz" in sentence


def test_as_left_without_as_found_is_asked_about(tmp_path):
    sentence = only(asked(build_site(tmp_path, linearity_rows(condition="as-left"))))
    assert "was read as-left and never as-found" in sentence


def test_a_sheet_of_another_year_under_a_new_day_is_asked_about(tmp_path):
    old = load_visit(build_site(tmp_path / "old", linearity_rows()))
    new = build_site(tmp_path / "new", linearity_rows())
    sentence = only(asked(new, earlier=[old]))
    assert "are those of STG-1-V11, linearity as-found of 2026-05-19 to the last digit" in sentence
    assert asked(build_site(tmp_path / "own", linearity_rows(gain=4.02)), earlier=[old]) == []


def test_another_channels_rows_copied_are_asked_about(tmp_path):
    second = ASSET[ASSET.index("[channels.STG-1-V11]") :].replace("STG-1-V11", "STG-1-V12")
    rows = linearity_rows() + [row.replace("V11", "V12") for row in linearity_rows()]
    sentence = only(asked(build_site(tmp_path, rows, asset=ASSET + second)))
    assert "outputs of STG-1-V12, linearity as-found are those of STG-1-V11, linearity as-found" in sentence


def test_slips_of_writing_are_among_the_questions_with_their_rows(tmp_path):
    rows = linearity_rows()
    rows[2] = linearity_rows(levels=(10.03,), gain=40.5)[0]
    question = ask_about(load_visit(build_site(tmp_path, rows)), today=TODAY)[0]
    assert question.rows == (4,)
    assert "row 4: the output 406.215 mV pk is 10 times what the other" in question.sentence


def test_progress_counts_rows_read_of_rows_planned(tmp_path):
    rows = linearity_rows()
    empty = [row.rsplit(",", 6)[0] + ",,mV pk,,,," for row in rows[:2]]
    band = ["STG-1-V11,band-response,as-found,80,,mm/s pk,,mV pk,,,,"]
    found = progress(load_visit(build_site(tmp_path, [*rows, *empty, *band])).table)
    assert [(item.test, item.read, item.planned, item.is_done) for item in found] == [
        ("linearity", 5, 7, False),
        ("band-response", 0, 1, False),
    ]
