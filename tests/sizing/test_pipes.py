import pytest

from service.errors import TextFileError
from service.sizing.pipes import read_pipes, submain_pipes

HEAD = "name,outer_mm,bore_mm,bore_low_mm,bore_high_mm,use,source\n"


def test_submains_come_narrow_to_wide(pipes):
    assert [pipe.bore_mm for pipe in submain_pipes(pipes)] == [17.4, 21.8, 28.2, 35.4, 44.2]


def test_sixteen_millimetre_dripline_may_be_much_narrower(pipes):
    """12.3 to 14.2 mm on 26 driplines (abstract on optimum length of 16 mm laterals, read)."""
    dripline = next(pipe for pipe in pipes if pipe.name == "16 mm dripline")
    assert (dripline.bore_low_mm, dripline.bore_mm, dripline.bore_high_mm) == (12.3, 13.6, 14.2)


@pytest.mark.parametrize(
    ("row", "words"),
    [
        ("25 mm pipe,25,x,20,22,submain,s", "x"),
        ("25 mm pipe,25,21,22,23,submain,s", "low <= bore <= high"),
        ("25 mm pipe,25,21,20,22,hose,s", "use must be"),
        ("25 mm pipe,25,21,20,22,submain,", "source"),
        ("25 mm pipe,25", "float"),
    ],
)
def test_a_bad_row_is_named_by_file_and_line(row, words):
    with pytest.raises(TextFileError, match=r"pipes\.csv:2: .*" + words):
        read_pipes(HEAD + row + "\n", "pipes.csv")


@pytest.mark.parametrize("text", ["", "name,bore\n", HEAD])
def test_a_table_without_columns_or_rows(text):
    with pytest.raises(TextFileError):
        read_pipes(text, "pipes.csv")
