"""The officer's lists: districts, groups, farmers, an import, rain, the calendar, visits."""

from __future__ import annotations

import base64
import io
import re
from datetime import timedelta
from typing import Any

import pytest

from service.records import Consent, Person, ReminderChoice, Ticket

HEADER = (
    "number,name,plot,language,district,crop,weeks,lines,line_length_m,line_spacing_m,tank_l,"
    "stand_m,groups,consent\n"
)
GOOD = HEADER + (
    "+10005550201,Amina,,en,Kotsindo,tomato,3,12,20,1,500,1.5,women;river,yes\n"
    "+10005550202,Bela,,sw,Velmora,onion,6,,,,,,women,no\n"
)
BAD = HEADER + (
    "+10005550201,Amina,,en,Kotsindo,tomato,3,12,20,1,500,1.5,women,yes\n"
    "12,<b>Bela</b>,,xx,Moon,onion,many,,,,,,,perhaps\n"
)


@pytest.fixture
def officer(desk: Any) -> Any:
    return desk.sitter("officer")


def look(sitter: Any, text: str, **more: Any) -> str:
    sitter.get("/desk/field/import")
    file = (io.BytesIO(text.encode()), "mine.csv")
    return str(sitter.post("/desk/field/import/look", file=file, **more))


def hidden(page: str, name: str) -> str:
    found = re.search(rf'name="{name}" value="([^"]*)"', page)
    return found[1] if found else ""


def keep(sitter: Any) -> str:
    fields = {name: hidden(sitter.page, name) for name in ("digest", "carried")}
    return str(sitter.post("/desk/field/import", **fields))


def plots(desk: Any) -> int:
    with desk.unit_of_work() as work:
        return sum(count for _, count in work.farmers.districts())


def test_districts_and_groups_are_counted_and_lead_to_their_farmers(
    desk: Any, officer: Any
) -> None:
    phone, plot = desk.caller()
    with desk.unit_of_work() as work:
        person = work.people.get(plot.person_id)
        work.people.save(Person(person.id, phone.id, "Asha", person.created_at, ("Ford growers",)))
        work.commit()
    desk.caller("+10005550101", "Ben", district="velmora")
    officer.get("/desk/field/farmers")
    counted = dict(re.findall(r'">([\w ]+)</a></th><td class="num">(\d+)</td>', officer.page))
    assert counted == {"Kotsindo": "1", "Velmora": "1", "Ford growers": "1"}
    [group] = re.findall(r"(/desk/field/farmers/list\?group=\w+)", officer.page)
    officer.get(group)
    assert "<h1>Ford growers</h1>" in officer.page
    assert "Asha" in officer.page
    assert "Ben" not in officer.page
    assert "0005550100" not in officer.page
    officer.get("/desk/field/farmers/list?district=velmora")
    assert "Ben" in officer.page
    assert "Asha" not in officer.page
    assert desk.actions().count("farmers.listed") == 2


def test_a_long_list_is_turned_over_page_by_page(desk: Any, officer: Any) -> None:
    for n in range(53):
        desk.caller(f"+1000555{n:04}", f"Farmer {n}")
    seen = set()
    path, pages = "/desk/field/farmers/list", 0
    while path:
        officer.get(path)
        seen |= set(re.findall(r">(Farmer \d+)<", officer.page))
        further = re.search(r'"(/desk/field/farmers/list\?after=\w+)"', officer.page)
        path, pages = further[1] if further else "", pages + 1
    assert (len(seen), pages) == (53, 2)


def test_an_officer_of_one_district_sees_no_other(desk: Any) -> None:
    desk.caller()
    desk.caller("+10005550101", "Ben", district="velmora")
    bound = desk.sitter("bound")
    bound.get("/desk/field/farmers/list")
    assert "Ben" in bound.page
    assert "Asha" not in bound.page
    bound.get("/desk/field/farmers/list?district=kotsindo")
    assert bound.status == 403
    answer = bound.client.get("/desk/field/farmers/list.csv")
    assert "+10005550101" in answer.text
    assert "+10005550100" not in answer.text
    bound.get("/desk/field/farmers/list.csv?district=kotsindo")
    assert bound.status == 403


def test_an_unknown_group_or_district_is_not_there(officer: Any) -> None:
    for path in ("list?group=0123", "list?district=moon", "list.csv?group=0123"):
        officer.get(f"/desk/field/farmers/{path}")
        assert officer.status == 404, path


def test_a_list_that_leaves_can_be_read_again(desk: Any, officer: Any) -> None:
    desk.caller(name="=1+1", number="+10005550109")
    answer = officer.client.get("/desk/field/farmers/list.csv")
    assert answer.headers["Content-Disposition"] == "attachment; filename=farmers.csv"
    assert answer.text.startswith("\ufeffnumber,name,")
    assert "'=1+1" in answer.text
    assert "farmers.exported" in desk.actions()
    look(officer, answer.text)
    assert "kept already" in officer.page


def test_the_template_itself_can_be_taken_in(desk: Any, officer: Any) -> None:
    answer = officer.client.get("/desk/field/import/template.csv")
    look(officer, answer.text)
    assert "Take in 1 farmer" in officer.page
    keep(officer)
    assert officer.notice == "1 farmer is taken in."


def test_a_good_list_is_looked_at_and_then_kept(desk: Any, officer: Any) -> None:
    look(officer, GOOD)
    assert officer.status == 200
    assert plots(desk) == 0
    assert "Nothing is taken in yet" in officer.page
    keep(officer)
    assert officer.notice == "2 farmers are taken in."
    assert plots(desk) == 2
    assert {"import.previewed", "import.kept"} <= set(desk.actions())
    officer.get("/desk/field/farmers")
    assert "river" in officer.page


def test_every_bad_cell_is_told_and_no_row_is_kept(desk: Any, officer: Any) -> None:
    look(officer, BAD)
    assert officer.status == 422
    assert "1 of 2 rows must be put right" in officer.page
    for column in ("number", "language", "district", "weeks", "consent"):
        assert f"<code>{column}</code>" in officer.page
    assert "Not a district of the table in use." in officer.page
    assert "<code>+10005550100</code>" in officer.page
    assert hidden(officer.page, "digest") == ""
    keep(officer)
    assert plots(desk) == 0


def test_a_page_asks_for_a_large_file_again_and_takes_no_other(desk: Any, officer: Any) -> None:
    rows = "".join(
        f"+1000556{n:04},Farmer number {n},,en,Kotsindo,tomato,3,,,,,,women,yes\n"
        for n in range(400)
    )
    look(officer, HEADER + rows)
    assert "Choose the same file once more" in officer.page
    assert len(officer.page.encode()) < 60_000
    digest = hidden(officer.page, "digest")
    officer.post("/desk/field/import", digest=digest, file=(io.BytesIO(GOOD.encode()), "other.csv"))
    assert "Nothing is taken in yet" in officer.page
    assert plots(desk) == 0
    officer.post(
        "/desk/field/import", digest=digest,
        file=(io.BytesIO((HEADER + rows).encode()), "mine.csv"),
    )  # fmt: skip
    assert officer.notice == "400 farmers are taken in."
    assert plots(desk) == 400


def test_known_farmers_are_told_or_left_out(desk: Any, officer: Any) -> None:
    look(officer, GOOD)
    keep(officer)
    look(officer, GOOD)
    assert officer.status == 422
    look(officer, GOOD + "+10005550203,Cara,,en,Kotsindo,,,,,,,,,\n", skip_known="yes")
    assert "Take in 1 farmer" in officer.page
    fields = {name: hidden(officer.page, name) for name in ("digest", "carried", "skip_known")}
    officer.post("/desk/field/import", **fields)
    assert plots(desk) == 3


@pytest.mark.parametrize("carried", ["", "no base64!", base64.b64encode(b"").decode()])
def test_nothing_sent_is_nothing_taken_in(officer: Any, carried: str) -> None:
    officer.get("/desk/field/import")
    officer.post("/desk/field/import", carried=carried)
    assert officer.alert == "Choose a file first."


def test_an_officer_takes_in_the_own_district_only(desk: Any) -> None:
    bound = desk.sitter("bound")
    look(bound, GOOD)
    assert "outside your districts" in bound.page
    assert plots(desk) == 0


# --- rain ---------------------------------------------------------------------------------------


def report(sitter: Any, **fields: str) -> str:
    sitter.get("/desk/field/rain")
    sent = {"district": "kotsindo", "day": "2026-11-24", "mm": "12,5", **fields}
    return str(sitter.post("/desk/field/rain", **sent))


def test_rain_is_reported_corrected_and_listed(desk: Any, officer: Any) -> None:
    report(officer)
    assert officer.notice == "The rain is kept: Kotsindo."
    [again] = re.findall(r'href="(/desk/field/rain\?[^"]*)"', officer.page)
    officer.get(again.replace("&amp;", "&"))
    assert 'value="12.5"' in officer.page
    assert 'value="2026-11-24"' in officer.page
    report(officer, mm="3")
    assert re.findall(r'<td class="num">([\d.]+)</td>', officer.page) == ["3"]
    with desk.unit_of_work() as work:
        [kept] = work.rain.of_district("kotsindo", desk.now.date() - timedelta(days=9))
    assert kept.mm == 3.0


@pytest.mark.parametrize(
    ("fields", "why"),
    [
        ({"mm": "much"}, "Write the rain in mm"),
        ({"mm": "nan"}, "0 to 500 mm"),
        ({"mm": "-1"}, "0 to 500 mm"),
        ({"day": "yesterday"}, "Write the day"),
        ({"day": "2026-11-26"}, "still to come"),
        ({"day": "2026-01-01"}, "days ago"),
        ({"district": ""}, "Choose a district"),
    ],
)
def test_rain_that_cannot_be_is_refused_and_stays_typed(
    officer: Any, fields: dict[str, str], why: str
) -> None:
    report(officer, **fields)
    assert officer.status == 422
    assert why in officer.alert
    assert f'value="{fields.get("mm", "12,5")}"' in officer.page


def test_rain_is_reported_for_the_own_districts(desk: Any) -> None:
    bound = desk.sitter("bound")
    report(bound)
    assert bound.status == 403
    assert 'value="kotsindo"' not in bound.page


# --- the calendar -------------------------------------------------------------------------------


def test_the_calendar_counts_weekly_texts_by_their_day(desk: Any, officer: Any) -> None:
    phone, _ = desk.caller()
    with desk.unit_of_work() as work:
        work.choices.put(ReminderChoice(phone.id, 10, 4, desk.now))
        work.consents.add(Consent(desk.new_id(), phone.id, desk.now, True, "yes", "paper"))
        work.commit()
    officer.get("/desk/field/calendar")
    rows = re.findall(r'<th scope="row" class="day">(\w{3})[^<]*</th>\s*<td class="num">(.*?)</td>',
                      officer.page)  # fmt: skip
    assert len(rows) == 28
    assert {count for name, count in rows if name == "Fri"} == {"1"}
    assert {count for name, count in rows if name in ("Mon", "Tue")} == {"0"}
    assert all("quiet day" in count for name, count in rows if name == "Sun")


# --- visits -------------------------------------------------------------------------------------


def test_plots_to_visit_stand_by_urgency_with_reasons(desk: Any, officer: Any) -> None:
    desk.caller(name="Calm", number="+10005550120")
    _, poor = desk.caller(
        name="Poor",
        number="+10005550121",
        measurements=[{"by": "cups", "day": "2026-11-20", "du_pct": 55.0}],
    )
    phone, _ = desk.caller(name="Danger", number="+10005550122")
    desk.keep(
        "tickets",
        Ticket(desk.new_id(), phone.id, "call_back", "d1", desk.now, danger="stand_leans"),
    )
    officer.get("/desk/field/visits")
    names = re.findall(r'/plots/\w+">(\w+)</a>', officer.page)
    assert names == ["Danger", "Poor"]
    assert "Somebody told of danger: ring first." in officer.page
    assert "evenness of 55 %" in officer.page
    assert "0005550121" not in officer.page
    officer.get("/desk/field/visits?district=velmora")
    assert "No plot needs a visit now." in officer.page
    answer = officer.client.get("/desk/field/visits.csv")
    assert "evenness of 55 %" in answer.text
    assert "+10005550121" not in answer.text
    assert poor.district == "kotsindo"


def test_a_fault_in_a_cluster_is_told_above_the_list(desk: Any, officer: Any) -> None:
    for n in range(3):
        desk.caller(f"+100055501{n}0", f"F{n}", fault_seen="far_end_dry",
                    fault_seen_on="2026-11-23")  # fmt: skip
    officer.get("/desk/field/visits")
    assert "Many plots, one fault" in officer.page
    assert "3 phones told of it within two weeks" in officer.page
    bound = desk.sitter("bound")
    bound.get("/desk/field/visits")
    assert "Many plots, one fault" not in bound.page
