"""job_of and the strategies give jobs that read without an error."""

import pytest
from hypothesis import given
from tests.strategies import jobs, small_jobs

from galleyproof.job.read import read_job
from galleyproof.job.sample import HOODS_PER_ZONE, job_of
from galleyproof.job.write import dump_job


@pytest.mark.parametrize("n", [1, 2, 3, 5, 6, 7, 12, 16, 31, 32, 64])
def test_a_job_of_any_size_reads_and_is_of_that_size(n):
    job = job_of(n)
    assert read_job(dump_job(job)) == job
    assert len(job.hoods) == len(job.exhaust_fans) == n
    assert len(job.makeup_units) == (n + 1) // 2
    zones = -(-n // HOODS_PER_ZONE)
    assert len(job.fire_systems) == zones
    assert [s.kind for s in job.shutdowns] == ["shunt trip", "gas valve"] * zones
    assert all(fan.proving for fan in job.exhaust_fans)
    assert {fan.drive.kind for fan in job.exhaust_fans} == {"starter", "VFD", "EC"} or n < 3
    assert sum(a.fuel == "electric" for h in job.hoods for a in h.appliances) == zones


def test_the_same_size_gives_the_same_job():
    assert dump_job(job_of(9)) == dump_job(job_of(9))


def test_a_larger_job_keeps_the_hoods_of_a_smaller_one():
    small, large = job_of(3), job_of(6)  # one fire zone, so circuits begin alike
    assert large.hoods[:3] == small.hoods
    assert [f.drive for f in large.exhaust_fans[:3]] == [f.drive for f in small.exhaust_fans]


@pytest.mark.parametrize("n", [0, -1, 65])
def test_other_sizes_are_refused(n):
    with pytest.raises(ValueError, match=f"n_hoods={n} is not between 1 and 64"):
        job_of(n)


@given(jobs())
def test_drawn_jobs_are_of_one_to_six_hoods(job):
    assert 1 <= len(job.hoods) <= 6
    assert read_job(dump_job(job)) == job


@given(small_jobs(sound=True))
def test_sound_jobs_hold_none_of_the_known_mistakes(job):
    assert all(fan.on_release == "full speed" for fan in job.exhaust_fans)
    assert all(unit.on_release == "stops" for unit in job.makeup_units)
    assert all(pole.side == "armed side" for s in job.fire_systems for pole in s.poles if pole.use == "panel loop")
    assert all(getattr(s, "reset", "by hand") == "by hand" for s in job.shutdowns)
    for unit in job.makeup_units:
        if unit.control.kind != "driven from the panel":
            assert unit.control.hand_switch != "around the run pair"
            assert all(master.may == "stop" for master in unit.control.second_masters)
