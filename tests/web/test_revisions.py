"""The page of revisions: every save, any two beside each other, an older one standing again."""

import re

import pytest
from tests.web.support import EXAMPLES, make_site, with_pages

from galleyproof.store.jobs import save_job, save_of, saves_of
from galleyproof.store.people import LOCAL
from galleyproof.web.pages import revisions as page_module


@pytest.fixture
def site(tmp_path, monkeypatch):
    return with_pages(make_site(tmp_path), monkeypatch, page_module)


def save(site, job, change, said="changed"):
    with site.db.session() as s:
        standing = save_of(s, job)
        text = change(standing.text)
        return save_job(s, LOCAL, job, text, standing.number, "cafe", "S-1", "A", said)


def longer(text):
    """The same job with a longer raceway: other lengths of conductors, no other wiring."""
    changed = re.sub(r"(tag: R-1, .*?length:) (\d+) ft", lambda m: f"{m[1]} {int(m[2]) + 7} ft", text, count=1)
    assert changed != text
    return changed


def test_every_save_is_listed_with_who_when_and_what(site):
    job = site.add("ferry-cafe")
    save(site, job, longer, "a longer way <b>&</b>")
    page = site.client.get(f"/jobs/{job}/revisions").text
    assert page.index("a longer way") < page.index("as shipped")
    assert "<b>&" not in page
    assert "this computer" in page
    assert re.search(r'name="old" value="1"[^>]* checked', page)
    assert re.search(r'name="new" value="2"[^>]* checked', page)
    assert f"/jobs/{job}/difference/1/2" in page


def test_one_save_alone_has_nothing_to_compare(site):
    job = site.add("ferry-cafe")
    page = site.client.get(f"/jobs/{job}/revisions").text
    assert "There is one save" in page
    assert "/difference/" not in page


def test_saves_beyond_a_page_are_reached(site, monkeypatch):
    monkeypatch.setattr("galleyproof.web.pages.revisions.AT_ONCE", 3)
    job = site.add("ferry-cafe")
    for n in range(4):
        save(site, job, lambda t: t + "# more\n", f"note {n}")
    first = site.client.get(f"/jobs/{job}/revisions").text
    assert [n for n in range(4) if f"note {n}" in first] == [1, 2, 3]
    further = re.search(r'href="([^"]*before=3)"', first)[1].replace("&amp;", "&")
    second = site.client.get(further).text
    assert "as shipped" in second
    assert "note 3" not in second
    assert "Newest saves" in second


def test_a_difference_is_told_in_words_and_on_marked_sheets(site):
    job = site.add("ferry-cafe")
    save(site, job, longer)
    part = site.client.get(f"/jobs/{job}/difference/1/2")
    shown = part.page.result
    assert shown.problems == ()
    ((where, was, now),) = shown.values
    assert where in part.text
    assert int(now.split()[0]) == int(was.split()[0]) + 7
    # the words are the command's: tests/cli holds those
    titles = [s.title for s in shown.schedules]
    assert "Conductors changed otherwise" in titles
    assert all(title in part.text for title in titles)


def test_marked_sheets_are_drawn_when_conductors_come_and_go(site):
    job = site.add("school-kitchen")
    save(site, job, lambda _: (EXAMPLES / "ferry-cafe.yaml").read_text(), "another kitchen altogether")
    part = site.client.get(f"/jobs/{job}/difference/1/2")
    result = part.page.result
    assert {"Conductors added", "Conductors removed"} <= {s.title for s in result.schedules}
    assert {s.of for s in result.sheets} == {"changes", "new", "old"}
    assert "<svg" in part.text
    # the marks: as many of each kind as the command draws, and each sheet at its own address
    for sheet in result.sheets[:3]:
        alone = site.client.get(f"/jobs/{job}/difference/1/2/{sheet.name}")
        assert alone.headers["content-type"].startswith("image/svg+xml")
        assert alone.text == sheet.svg
        assert 'id="REVISION"' in alone.text
    inline = site.client.get(f"/jobs/{job}/difference/1/2/{sheet.name}", headers={"hx-request": "true"}).text
    assert inline.lstrip().startswith("<figure")
    assert site.client.get(f"/jobs/{job}/difference/1/2/new-99.9").status_code == 404


def test_the_same_difference_the_other_way_round(site):
    job = site.add("ferry-cafe")
    save(site, job, longer)
    forth = site.client.get(f"/jobs/{job}/difference/1/2").page.result
    back = site.client.get(f"/jobs/{job}/difference/2/1").page.result
    assert [(w, new, old) for w, old, new in forth.values] == list(back.values)


def test_saves_that_differ_in_a_comment_are_alike(site):
    job = site.add("ferry-cafe")
    save(site, job, lambda t: t + "# a remark\n")
    part = site.client.get(f"/jobs/{job}/difference/1/2").text
    assert "Both are wired and set alike." in part
    assert "Every value of the job is written alike." in part


def test_a_save_with_mistakes_is_compared_as_far_as_it_goes(site):
    job = site.add("ferry-cafe")
    save(site, job, lambda t: t.replace("revision: A", "revision: far too long", 1))
    part = site.client.get(f"/jobs/{job}/difference/1/2").text
    assert "Nothing can be built of the new save: 1 to mend." in part
    assert "far too long" in part
    save(site, job, lambda t: "no: [yaml", "broken")
    part = site.client.get(f"/jobs/{job}/difference/1/3").text
    assert "cannot be taken apart" in part


def test_an_older_save_stands_again_as_a_new_one(site):
    job = site.add("ferry-cafe")
    save(site, job, longer)
    form = {"form_token": site.token(), "based_on": "2"}
    answer = site.client.post(f"/jobs/{job}/revisions/1/restore", data=form, follow_redirects=False)
    assert answer.headers["location"] == f"/jobs/{job}/revisions?old=2&new=3"
    with site.db.session() as s:
        newest, _, first = saves_of(s, job)
    assert newest.text == first.text
    assert newest.said == "restored save 1"
    # whoever did not see the newest save is told of it
    answer = site.client.post(f"/jobs/{job}/revisions/1/restore", data=form)
    assert answer.status_code == 409
    assert "saved first (save 3)" in answer.text
    answer = site.client.post(f"/jobs/{job}/revisions/9/restore", data={**form, "based_on": "3"})
    assert answer.status_code == 404
