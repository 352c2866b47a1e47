"""An invented recovery from traces to its verdicts."""

import slowphase
from slowphase.cli.demo_courses import EVENTS, RETEST, write_demo_course
from slowphase.course.events import read_events
from slowphase.course.retest_file import read_retest


def test_the_invented_recovery_is_read_as_one(tmp_path):
    target = write_demo_course("course_recovery", tmp_path)
    folders = sorted(path for path in target.iterdir() if path.is_dir())
    sessions = [slowphase.read_session(folder) for folder in folders]
    assert all(session.problems == () for session in sessions)
    course = slowphase.follow(
        [slowphase.analyze(session) for session in sessions],
        retest=read_retest(target / RETEST),
        events=read_events(target / EVENTS),
    )
    judged = course.comparisons[0]
    rules = {one.rule.code: one.verdict for one in judged.rules}
    assert judged.comparison.overall.verdict == "real_change"
    assert rules["recovery_course"] == "holds"
    assert rules["ototoxic_change"] == rules["nystagmus_grows"] == "does_not_hold"
    assert [event.kind for event in course.events] == ["onset", "exercise"]
