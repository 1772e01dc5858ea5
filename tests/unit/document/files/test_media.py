"""The file of media: a plain table that is kept whole."""
import math

import pytest

from plankcore.document.files.media import find_media_file, find_named, make_place, read_media, sys, write_media
from plankcore.errors import DocumentError, SettingError
from plankcore.model.page import MediumCorrection

FILM = MediumCorrection("Drafting film", "2026-05-03", number=1, along=0.99700897, across=1.00200401,
                        skew_mm_per_m=-1.25, residual_mm=0.12, measured="1000 1003 1000 998")
VINYL = MediumCorrection('Vinyl, "white" #2; wide', "", number=3, along=1.001, across=0.999)


def keep(path, *some):
    media = read_media(path)
    for one in some:
        path.write_bytes(write_media(media, one))
        media = read_media(path)
    return media


def test_what_is_kept_is_read_again(tmp_path):
    media = keep(tmp_path / "media.csv", FILM, VINYL)
    assert media[0] == FILM
    assert (media[1].medium, media[1].number,
            media[1].skew_mm_per_m) == (VINYL.medium, 3, 0.0) and math.isnan(media[1].residual_mm)


def test_a_medium_measured_again_takes_its_place_and_the_others_stay(tmp_path):
    again = MediumCorrection("drafting  FILM", "2026-06-01", number=2, along=0.998, across=1.001)
    media = keep(tmp_path / "media.csv", FILM, VINYL, again)
    assert [one.number for one in media] == [3, 2]
    one, = find_named(media, " Drafting Film ")
    assert one.day == "2026-06-01"


def test_a_medium_is_kept_once_for_each_page_and_way_of_feed(tmp_path):
    some = [MediumCorrection("bond", "d", number=k, along=1.0 + k / 1000, across=1.0, skew_mm_per_m=0.0,
                             residual_mm=0.1, measured="x", feed=feed, page=page)
            for k, (feed, page) in enumerate((("along", "A"), ("across", "A"), ("along", "B"), ("along", "A")), 1)]
    media = keep(tmp_path / "media.csv", *some)
    assert media == [some[1], some[2], some[3]] and find_named(media, "Bond") == media


def test_a_file_of_before_is_read_and_its_way_of_feed_is_not_known(tmp_path):
    (tmp_path / "media.csv").write_text(
        "medium,day,number,along,across,skew,residual,measured\nfilm,d,1,0.997,1.002,0,,\n")
    one, = read_media(tmp_path / "media.csv")
    assert (one.feed, one.page) == ("", "")


def test_no_file_is_no_media_and_a_name_that_is_not_there_is_refused(tmp_path):
    assert read_media(tmp_path / "none.csv") == []
    with pytest.raises(SettingError, match="has not been measured"):
        find_named([], "film")
    with pytest.raises(SettingError) as refusal:
        find_named([FILM], "paper")
    assert "Drafting film" in refusal.value.remedy


@pytest.mark.parametrize("text", ["medium,along\nfilm,1\n", "medium,number,along,across\nfilm,1,1.5,1\n",
                                  "medium,number,along,across\nfilm,1,x,1\n"])
def test_a_table_that_is_none_is_refused_with_its_place(tmp_path, text):
    (tmp_path / "media.csv").write_text(text)
    with pytest.raises(DocumentError) as refusal:
        read_media(tmp_path / "media.csv")
    assert "media.csv" in refusal.value.where


@pytest.mark.parametrize("platform, variable", [("linux", "XDG_DATA_HOME"), ("win32", "APPDATA"), ("darwin", "HOME")])
def test_the_users_own_file_lies_in_the_users_data_folder(tmp_path, monkeypatch, platform, variable):
    monkeypatch.setattr(sys, "platform", platform)
    monkeypatch.setenv(variable, str(tmp_path))
    found = find_media_file()
    assert str(found).startswith(str(tmp_path)) and found.parts[-2:] == ("plankcore", "media.csv")
    make_place(found, "")
    assert found.parent.is_dir()
    assert find_media_file(" /some/where.csv ").as_posix() == "/some/where.csv"
