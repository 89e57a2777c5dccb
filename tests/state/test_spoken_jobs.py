from viewer.state.program.jobs import Job, drive
from viewer.state.spoken_jobs import SpokenJobs, one_step_job


def test_the_end_is_said_and_what_was_made_is_given(session):
    given = []
    jobs = SpokenJobs()
    jobs.start(session, one_step_job("Adding", lambda: 1 + 2, given.append), "Added.")
    assert given == [3]
    assert session.message.value == "Added."


def test_what_went_wrong_is_said_after_its_beginning(session):
    def refuse() -> None:
        raise OSError("the disk is full")

    given = []
    job = one_step_job("Writing", refuse, given.append)
    SpokenJobs().start(session, job, "Written.", "a.csv was not saved: ")
    assert given == []
    assert session.message.value == "a.csv was not saved: the disk is full"


def test_two_under_way_are_both_spoken_of(session):
    waiting: list[Job] = []
    session.jobs.runner = waiting.append
    jobs = SpokenJobs()
    said = []
    listener = Listener(said)
    session.message.changed.connect(listener.hear)
    jobs.start(session, one_step_job("One", lambda: None), "One is done.")
    jobs.start(session, one_step_job("Two", lambda: None), "Two is done.")
    for job in waiting:
        job.end(drive(job, job.receive))
    assert said == ["One is done.", "Two is done."]


class Listener:
    def __init__(self, said: list[str]) -> None:
        self.said = said

    def hear(self, text: str) -> None:
        self.said.append(text)
