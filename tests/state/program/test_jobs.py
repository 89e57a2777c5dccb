from viewer.state.program.jobs import Job, Jobs, Outcome, Progress, Step, drive


def numbered(count: int):
    for number in range(count):
        yield Step(Progress(number + 1, count), number)


def test_a_job_driven_here_hands_over_everything_in_order():
    taken: list[int] = []
    jobs = Jobs()
    job = Job("Counting", lambda: numbered(5), taken.extend)
    jobs.start(job)
    assert taken == [0, 1, 2, 3, 4]
    assert job.progress.value == Progress(5, 5)
    assert job.outcome.value == Outcome("done")
    assert jobs.current is None


def test_steps_are_gathered_between_deliveries():
    deliveries: list[int] = []
    job = Job("Counting", lambda: numbered(100), lambda payloads: None)
    drive(job, lambda steps: deliveries.append(len(steps)), interval=3600)
    assert deliveries == [100]


def test_cancelling_stops_it_and_drops_what_comes_after():
    taken: list[int] = []
    job = Job("Counting", lambda: numbered(1000), taken.extend)

    def deliver(steps):
        job.receive(steps)
        if len(taken) >= 3:
            job.cancel()

    outcome = drive(job, deliver, interval=0.0)
    assert outcome.kind == "cancelled"
    assert taken == [0, 1, 2]
    job.receive([Step(Progress(), 99)])
    assert taken == [0, 1, 2]


def test_a_sentence_raised_as_value_error_becomes_the_outcome():
    def failing():
        yield Step(Progress())
        raise ValueError("site.toml, line 3: a name is missing.")

    job = Job("Opening", failing, lambda payloads: None)
    assert drive(job, job.receive) == Outcome("failed", "site.toml, line 3: a name is missing.")


def test_an_unexpected_failure_is_told_and_logged_not_raised(caplog):
    def failing():
        yield Step(Progress())
        raise KeyError("odd")

    job = Job("Opening", failing, lambda payloads: None)
    outcome = drive(job, job.receive)
    assert outcome.kind == "failed"
    assert "stopped unexpectedly" in outcome.text
    assert "KeyError" in caplog.text
