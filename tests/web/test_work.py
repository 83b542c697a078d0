"""What the calculator keeps: the results used last, and of large ones only a few."""

from galleyproof.web.work import KEEP_LARGE, Calculator, Kind

SMALL = Kind("small", "tests.web.test_work:echo", False, "nothing")
LARGE = Kind("large", "tests.web.test_work:echo", True, "nothing", large=True)


def echo(text, _progress):
    return text * 2


def kept(work, kind, texts):
    return [t for t in texts if work.known(kind, [t]) is not None]


def test_few_large_results_are_kept_and_they_push_out_no_small_ones():
    work = Calculator(processes=False, keep=30)
    texts = [f"{n}" for n in range(30)]
    for t in texts:
        assert work.ask(SMALL, t).result == t * 2
        assert work.ask(LARGE, t).result == t * 2
    # one more may stand there: the newest is counted when the next one comes
    assert kept(work, LARGE, texts) in (texts[-KEEP_LARGE:], texts[-KEEP_LARGE - 1 :])
    assert kept(work, SMALL, texts) == texts


def test_the_results_used_last_are_kept():
    work = Calculator(processes=False, keep=3)
    for t in "abcde":
        work.ask(SMALL, t)
        work.ask(SMALL, "a")
    assert "a" in kept(work, SMALL, "abcde")
    assert "b" not in kept(work, SMALL, "abcde")
