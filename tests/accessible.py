"""Pages as people with a disability meet them, judged by axe-core against WCAG 2.2 A and AA."""

from __future__ import annotations

from importlib.resources import files

from playwright.sync_api import Page

RUN = """async () => {
    const found = await axe.run(document, {
        runOnly: ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"],
        resultTypes: ["violations"],
    });
    const said = (n) => n.target.join(" ") + ": " + n.failureSummary;
    return found.violations.map((v) => [v.impact, v.id, v.help, v.nodes.map(said)]);
}"""


def complaints(page: Page) -> list[str]:
    """What axe finds serious or critical on a page as it stands."""
    if not page.evaluate("() => 'axe' in window"):
        page.evaluate(files("axe_playwright_python").joinpath("axe.min.js").read_text(encoding="utf-8"))
    found = page.evaluate(RUN)
    return [
        f"{rule}: {words}: {nodes[:3]}" for impact, rule, words, nodes in found if impact in ("serious", "critical")
    ]
