"""A calculation that fails would fail again: it is told, not begun anew at each look."""

from galleyproof.web.work import Calculator, Kind

BAD = Kind("bad", "posixpath:join", False, "nothing")  # text and a function: refused with a TypeError


def count(monkeypatch) -> list[str]:
    begun: list[str] = []
    real = Kind.compute

    def compute(self, text, progress):
        begun.append(text)
        return real(self, text, progress)

    monkeypatch.setattr(Kind, "compute", compute)
    return begun


def test_here(monkeypatch):
    begun = count(monkeypatch)
    work = Calculator(processes=False)
    first, second = work.ask(BAD, "a"), work.ask(BAD, "a")
    assert first.state == second.state == "failed"
    assert "join() argument" in first.words
    assert second.words == first.words
    assert begun == ["a"]
    work.ask(BAD, "b")
    assert begun == ["a", "b"]


def test_in_a_process_of_its_own():
    work = Calculator()
    try:
        first = work.wait(BAD, "a", 30)
        assert first.state == "failed"
        assert work.ask(BAD, "a").state == "failed"  # at once: not waiting again
    finally:
        work.close()
