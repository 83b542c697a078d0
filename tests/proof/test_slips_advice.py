"""Changes of a job that take hidden slips away: what they buy is worked out by hand for the shunt trip."""

from __future__ import annotations

import json
import random

import pytest
from tests.proof.test_slips_kinds import kitchen
from tests.solver.kitchens import EXAMPLES

from galleyproof.checkout.catching import catches
from galleyproof.checkout.probes import expectation
from galleyproof.checkout.whole import Bench
from galleyproof.checkout.words import said
from galleyproof.cli.main import main
from galleyproof.design.build import build_design
from galleyproof.library.reader import load_library
from galleyproof.proof.advice import advise, proposals
from galleyproof.proof.study import study


def test_a_held_in_contactor_takes_the_shunt_trips_hidden_slips_away():
    """Field case T01: a shunt coil's open conductor, neutral or winding is unseen; a held-in coil fails safe."""
    job, design, slips = kitchen("ferry-cafe")
    library = load_library()
    kinds = ("left off", "neutral open", "coil burnt", "jumper missing", "contact never makes")
    before = study(job, design, library, [s for s in slips if s.kind in kinds])
    hidden = {o.slip.key for o in before.outcomes if o.verdict == "hidden"}
    lost_by_it = {
        "left-off/SD-1/coil/C1",
        "left-off/FS-1/shutdown2/1/R",
        "neutral-open/SD-1/coil/C2",
        "coil-burnt/LP-1/11/shunt",
        "contact-never-makes/FS-1/released_2",
    }
    assert lost_by_it <= hidden
    whole = study(job, design, library, slips)
    (bought,) = advise(job, library, whole)
    assert bought.proposal.key == "held-in contactors"
    assert lost_by_it <= set(bought.gone)
    assert bought.after < bought.before == whole.count("hidden")
    assert bought.weight_after < bought.weight_before
    # a contactor brings one of its own: welded contacts (field case F14)
    assert "contactor-welded/SD-1" in bought.new


def test_proposals_fit_the_job():
    assert [p.key for p in proposals(kitchen("ferry-cafe")[0])] == ["held-in contactors"]
    job = kitchen("ferry-cafe")[0]
    bare = job.model_copy(
        update={
            "fire_systems": tuple(
                f.model_copy(update={"poles": tuple(p for p in f.poles if p.use != "shutdown")})
                for f in job.fire_systems
            )
        }
    )
    assert [p.key for p in proposals(bare)] == ["held-in contactors", "shutdown off the fire switch"]


def test_proving_switches_take_hidden_slips_away():
    """A fan that is told to run and does not is announced in daily use; tags are those that nothing has."""
    job = kitchen("ferry-cafe")[0]
    assert all(f.proving for f in job.exhaust_fans)
    bare = job.model_copy(
        update={"exhaust_fans": tuple(f.model_copy(update={"proving": None}) for f in job.exhaust_fans)}
    )
    library = load_library()
    done = study(bare, build_design(bare), library)
    bought = {b.proposal.key: b for b in advise(bare, library, done)}
    better = bought["proving switches"]
    assert better.after < better.before == done.count("hidden")
    assert better.weight_after < better.weight_before
    # half of the fans have one already: the others get other tags
    some = kitchen("school-kitchen")[0]
    first, *rest = some.exhaust_fans
    some = some.model_copy(update={"exhaust_fans": (first, *(f.model_copy(update={"proving": None}) for f in rest))})
    (proposal,) = [p for p in proposals(some) if p.key == "proving switches"]
    tags = [f.proving.tag for f in proposal.job.exhaust_fans if f.proving]
    assert len(set(tags)) == len(tags) == len(some.exhaust_fans)
    build_design(proposal.job)


def test_the_command(capsys: pytest.CaptureFixture[str]):
    status = main(["slips", str(EXAMPLES / "ferry-cafe.yaml"), "--json"])
    told = json.loads(capsys.readouterr().out)
    summary = told["summary"]
    assert status == 1
    assert list(summary) == ["slips", "harmless", "obvious", "announced", "hidden", "evaluations", "seconds"]
    assert summary["slips"] == len(told["slips"]) == sum(summary[k] for k in list(summary)[1:5])
    assert told["slips"][0]["class"] == "hidden"
    assert "advice" not in told
    # each hidden one with the reading that catches it, and no other slip with one
    for slip in told["slips"]:
        assert ("caught_by" in slip) == (slip["class"] == "hidden")
        assert "removed_by" not in slip
    # the conductor of the shunt coil left off: dead and without a hazard, ohms show it open (field case T01)
    by_key = {s["slip"]: s for s in told["slips"]}
    caught = by_key["left-off/SD-1/coil/C1"]["caught_by"]
    assert (caught["stage"], caught["reads"]) == ("dead", "open (OL)")
    assert caught["expected"].endswith("Ω")


def test_the_report_heads_with_what_is_hidden(capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setenv("COLUMNS", "200")  # so that no sentence is broken in two
    main(["slips", str(EXAMPLES / "ferry-cafe.yaml")])
    shown = capsys.readouterr().out
    assert shown.index("Hidden") < shown.index("Tests that keep them from staying")
    assert "nothing shows" in shown
    assert "What catches it" in " ".join(shown.split())
    assert "never an approval" in shown


def test_what_catches_a_slip_is_a_reading_that_a_machine_built_anew_shows():
    """The plain way, for a draw of hidden slips: the probe named reads what is said, beyond its tolerance; and where
    none is named, no probe at all reads beyond its tolerance."""
    job, design, slips = kitchen("ferry-cafe")
    library = load_library()
    hidden = [o.slip for o in study(job, design, library, slips).outcomes if o.verdict == "hidden"]
    bench = Bench(job, design, library)
    caught = catches(bench, hidden)
    place = {p.key: i for i, p in enumerate(bench.checkout.probes)}
    expected = [expectation(p, r) for p, r in zip(bench.checkout.probes, bench.right, strict=True)]
    silent = [s for s in hidden if caught[s.key] is None]
    for slip in random.Random(8).sample([s for s in hidden if caught[s.key]], 10) + silent:
        reads = bench.plainly(slip.change)
        catch = caught[slip.key]
        if catch is None:
            assert all(expected[i].holds(r) for i, r in reads.items()), slip.key
            continue
        found = reads[place[catch.probe.key]]
        assert not catch.expected.holds(found), slip.key
        assert said(catch.probe.kind, found) == said(catch.probe.kind, catch.reads), slip.key


def test_what_removes_a_hidden_slip_is_said_with_it(capsys: pytest.CaptureFixture[str]):
    main(["slips", str(EXAMPLES / "ferry-cafe.yaml"), "--advise", "--json"])
    told = json.loads(capsys.readouterr().out)
    by_key = {s["slip"]: s for s in told["slips"]}
    gone = {key for b in told["advice"] for key in b["gone"]}
    assert by_key["left-off/SD-1/coil/C1"]["removed_by"] == ["held-in contactors instead of the shunt trips SD-1"]
    assert {k for k, s in by_key.items() if s.get("removed_by")} == gone
