"""Stored text stays text: markup and formulas in every field of a job, on every page, in every drawing and document."""

from __future__ import annotations

import io
import json
import re
import zipfile
from html.parser import HTMLParser
from xml.etree import ElementTree

import openpyxl
import pypdf
import pytest
from ruamel.yaml import YAML
from tests.web.house import NAMES, PASSWORD, browser, form_token, sign_in
from tests.web.rules import entry
from tests.web.support import EXAMPLES, make_site

from galleyproof.errors import GalleyproofError
from galleyproof.job.read import read_job
from galleyproof.store.accounts import add_person, find_person
from galleyproof.store.jobs import add_job
from galleyproof.store.people import LOCAL, Role
from galleyproof.store.sign_ins import add_link

MARK = "xq7"
"""In every payload, so that what became of it is found again."""
PAYLOADS = (
    f"</title><script>{MARK}()</script>",
    f'"><img src=x onerror={MARK}()>',
    f"' onfocus={MARK}() autofocus x='",
    f"</text><script href=#{MARK} />",
    f"<svg onload={MARK}()>",
    f"]]></style><iframe src=//{MARK}.example>",
    f"{{{{ {MARK}.__class__ }}}}{{% raw %}}",
    f"javascript:{MARK}()",
    f"&lt;b&gt;{MARK}&amp;",
    f"=HYPERLINK(A1,{MARK})",
    f"+{MARK}+cmd",
    f"-{MARK}-1",
    f"@SUM({MARK})",
)


def poisoned(example: str = "ferry-cafe") -> tuple[str, list[str]]:
    """A job that reads, with a payload in every field that takes one; and the fields."""
    tree = YAML(typ="safe", pure=True).load((EXAMPLES / f"{example}.yaml").read_text())
    off = {"switch SW-1": "off", "switch SW-2": "on", "heat H-1": "off", "fire Z1": "armed"}
    tree["promises"] = [{"say": "it stays off", "when": off, "expect": {"MAU-1": "off"}}]

    def leaves(node, path=()):
        items = node.items() if isinstance(node, dict) else enumerate(node) if isinstance(node, list) else ()
        for key, value in items:
            if isinstance(value, str):
                yield node, key, (*path, key)
            else:
                yield from leaves(value, (*path, key))

    taken = []
    for node, key, path in list(leaves(tree)):
        before, node[key] = node[key], PAYLOADS[len(taken) % len(PAYLOADS)]
        try:
            read_job(json.dumps(tree))
            taken.append(".".join(map(str, path)))
        except GalleyproofError:
            node[key] = before
    return json.dumps(tree, indent=1), taken


TEXT, FIELDS = poisoned()


def test_markup_is_in_every_field_that_takes_free_text():
    assert len(FIELDS) > 15
    kinds = {field.split(".")[-1] for field in FIELDS}
    assert {"name", "number", "note", "place", "kind", "say"} <= kinds
    assert len(FIELDS) > len(PAYLOADS)  # so each payload is somewhere


class Tags(HTMLParser):
    """What a browser would make of a page."""

    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.tags: list[tuple[str, dict[str, str]]] = []
        self.words: list[str] = []

    def handle_starttag(self, tag, attrs):
        self.tags.append((tag, {k: v or "" for k, v in attrs}))

    def handle_data(self, data):
        self.words.append(data)


ADDRESSES = ("href", "src", "action", "formaction", "data", "hx-get", "hx-post", "poster", "xlink:href")


def inert(html: str, where: str) -> Tags:
    """Hold a page to having nothing in it that acts."""
    found = Tags()
    found.feed(html)
    found.close()
    for tag, attributes in found.tags:
        assert tag not in ("iframe", "object", "embed", "base", "applet", "frame"), where
        if tag == "script":
            data = attributes.get("type") == "application/json"
            assert data or attributes.get("src", "").startswith("/static/"), (where, attributes)
        if tag == "img":
            assert not attributes.get("src", "").startswith("x"), where
        for name, value in attributes.items():
            assert not name.startswith(("on", "hx-on")), (where, name)
            assert MARK not in name, (where, name)
            if name in ADDRESSES:
                plain = "".join(value.split()).lower()
                assert not plain.startswith(("javascript:", "vbscript:", "data:text")), (where, value)
                assert not re.match(r"(https?:)?//(?!testserver)", plain), (where, value)
    return found


def inert_svg(svg: str, where: str) -> ElementTree.Element:
    """Hold a picture to having nothing in it that acts."""
    assert "<!DOCTYPE" not in svg
    assert "<!ENTITY" not in svg
    root = ElementTree.fromstring(svg)
    for element in root.iter():
        tag = element.tag.rpartition("}")[2].lower()
        assert tag not in ("script", "foreignobject", "iframe", "image", "use", "animate", "set", "handler"), (
            where,
            tag,
        )
        for name, value in element.attrib.items():
            bare = name.rpartition("}")[2].lower()
            assert not bare.startswith("on"), (where, name)
            assert bare != "href" or value.startswith(("#", "/")), (where, value)
    return root


@pytest.mark.parametrize("payload", [p for p in PAYLOADS if "<" in p or "on" in p[:12]])
def test_the_checks_see_what_is_not_inert(payload):
    """Each payload with markup in it, put into a page or a picture as it is, is noticed."""
    held = 0
    for page in (f"<p>{payload}</p>", f'<p title="{payload}">', f"<p title='{payload}'>", f"<a href='{payload}'>"):
        try:
            inert(page, "page")
        except AssertionError:
            held += 1
    assert held


@pytest.fixture(scope="module")
def site(tmp_path_factory):
    """An office in which everything that is kept holds markup."""
    made = make_site(tmp_path_factory.mktemp("inert"))
    with made.db.session() as session:
        add_job(session, LOCAL, TEXT, PAYLOADS[0], PAYLOADS[1], "A", PAYLOADS[2])
        draft = re.sub(r'"tag": "([^"]*)"', lambda m: json.dumps("tag") + ": " + json.dumps(PAYLOADS[5] + m[1]), TEXT)
        add_job(session, LOCAL, draft, PAYLOADS[3], PAYLOADS[4], "A", PAYLOADS[5])
        add_job(session, LOCAL, "\n".join(PAYLOADS), PAYLOADS[8], PAYLOADS[9], "A", PAYLOADS[9])
        # names of people, links and tokens
        add_person(session, LOCAL, NAMES["administrator"], PASSWORD, Role.ADMINISTRATOR)
        for payload in PAYLOADS[:6]:
            add_person(session, LOCAL, payload, PASSWORD, Role.ENGINEER)
            add_link(session, find_person(session, payload)[0].who, 1, payload, 3)
    return made


@pytest.fixture(scope="module")
def client(site):
    from tests.web.house import quick_hashes

    made = browser(site)
    with pytest.MonkeyPatch.context() as patch:
        quick_hashes(patch)
        assert sign_in(made, NAMES["administrator"]).status_code == 303
    token = form_token(made)
    for payload in PAYLOADS:
        made.post("/account/tokens", data={"label": payload, "form_token": token})
    entries = [
        entry(TEXT, n, read=payload, by=payload, job_name=payload, probe=("note", "complaint", "done")[n % 3])
        for n, payload in enumerate(PAYLOADS)
    ]
    sent = made.post("/jobs/1/check-out/entries", json={"entries": entries}, headers={"x-form-token": token})
    assert sent.json()["stored"]
    return made


def test_every_page_that_can_be_reached_shows_it_as_text(client):
    """From the first page along every link that is only looked at."""
    left, seen, shown = ["/jobs", "/people", "/log", "/account", "/jobs/1", "/jobs/2", "/jobs/3", "/api"], set(), 0
    while left:
        path = left.pop()
        if path in seen:
            continue
        seen.add(path)
        answer = client.get(path)
        assert answer.status_code < 500, path
        kind = answer.headers.get("content-type", "")
        if kind.startswith("image/svg"):
            inert_svg(answer.text, path)
        if answer.headers.get("content-disposition", "").startswith("attachment"):
            continue  # kept as a file, never shown from here; the field sheet is held by its own tests
        if not kind.startswith("text/html"):
            assert not answer.content or "html" not in kind
            continue
        found = inert(answer.text, path)
        shown += sum(MARK in words for words in found.words)
        for _tag, attributes in found.tags:
            for name in ("href", "hx-get"):
                to = attributes.get(name, "").partition("#")[0]
                if to.startswith("/jobs/") and not re.search(r"/(issued|progress|revisions)/.*\d", to):
                    # of what differs in a number or a name only, a few are enough
                    shape = re.sub(r"=[^&]*", "=", re.sub(r"\d+", "0", to))
                    if sum(re.sub(r"=[^&]*", "=", re.sub(r"\d+", "0", s)) == shape for s in seen | set(left)) < 3:
                        left.append(to)
    assert len(seen) > 30
    assert shown > 100  # it is there, as text
    pages = {path.split("/")[3].split("?")[0] for path in seen if path.count("/") >= 3 and path.startswith("/jobs/1/")}
    assert pages >= {"line-up", "air", "sizing", "drawings", "sequence", "slips", "check-out", "diagnosis", "links"}


def test_no_name_that_is_refused_comes_back_as_markup(client):
    """What is typed wrongly is shown again, as it was typed."""
    token = form_token(client)
    for payload in PAYLOADS:
        for path, data in (
            ("/people", {"name": payload, "password": "x", "role": payload}),
            ("/jobs/1/links", {"label": payload * 20, "days": payload}),
            ("/account/tokens", {"label": payload * 20}),
        ):
            answer = client.post(path, data={**data, "form_token": token})
            inert(answer.text, path)
        inert(client.get("/jobs", params={"words": payload}).text, "search")
        inert(client.get("/log", params={"person": payload, "about": payload}).text, "log")
        inert(client.get(f"/link/{payload}").text, "link")
        other = browser_of(client)
        inert(other.get("/sign-in", params={"then": payload}).text, "sign-in")


def browser_of(client):
    return type(client)(client.app, base_url="http://testserver")


def test_drawings_hold_it_as_text(site):
    from galleyproof.web.computed import DRAWN

    drawn = site.client.app.state.office.work.wait(DRAWN, TEXT, 60).result
    words = ""
    for sheet in drawn.sheets:
        root = inert_svg(sheet.svg, sheet.number)
        words += " ".join(root.itertext())
    assert words.count(MARK) > 20


def test_documents_hold_it_as_text(site):
    from galleyproof.web.computed import PACKED

    packed = site.client.app.state.office.work.wait(PACKED, TEXT, 60).result
    files = zipfile.ZipFile(io.BytesIO(packed.content))

    pdf = files.read("package.pdf")
    reader = pypdf.PdfReader(io.BytesIO(pdf))
    words = "".join(page.extract_text() for page in reader.pages[:6])
    assert MARK in words
    for name in files.namelist():
        if name.endswith(".pdf"):
            acting(pypdf.PdfReader(io.BytesIO(files.read(name))))

    book = openpyxl.load_workbook(io.BytesIO(files.read("wires.xlsx")))
    texts(book)

    for name in files.namelist():
        if name.endswith(".csv"):
            for cell in re.findall(r'(?:^|,)"?([^",\r\n]*)', files.read(name).decode("utf-8-sig"), re.MULTILINE):
                assert not (MARK in cell and cell.lstrip()[:1] in tuple("=+-@")), (name, cell)


def acting(reader: pypdf.PdfReader) -> None:
    """A document has no script, no file in it, and no link to elsewhere."""
    root = reader.trailer["/Root"]
    assert "/OpenAction" not in root
    assert "/AA" not in root
    names = root.get("/Names", {})
    assert "/JavaScript" not in names
    assert "/EmbeddedFiles" not in names
    for page in reader.pages:
        for note in page.get("/Annots", ()):
            action = note.get_object().get("/A", {})
            assert action.get("/S") in (None, "/GoTo"), action


def texts(book: openpyxl.Workbook) -> None:
    """Every cell with a payload in it is a text, and there is no formula and no link."""
    found = 0
    for sheet in book.worksheets:
        for row in sheet.iter_rows():
            for cell in row:
                assert cell.data_type != "f", (sheet.title, cell.coordinate)
                assert cell.hyperlink is None or MARK not in str(cell.hyperlink.target)
                if isinstance(cell.value, str) and MARK in cell.value:
                    assert cell.data_type == "s"
                    found += 1
    assert found > 10


def test_the_line_up_as_a_workbook_holds_it_as_text(client):
    answer = client.get("/jobs/1/export.xlsx")
    assert answer.status_code == 200
    texts(openpyxl.load_workbook(io.BytesIO(answer.content)))


def test_names_of_files_to_be_kept_hold_nothing_of_it(client):
    """A header is no place for a job's name."""
    for path in ("export.xlsx", "export.yaml", "check-out/log"):
        told = client.get(f"/jobs/1/{path}").headers.get("content-disposition", "")
        assert re.fullmatch(r"attachment; filename=\"?[\w .,-]+\"?(; filename\*=UTF-8''[\w%.,-]+)?", told), told
