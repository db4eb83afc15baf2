"""Work that no receiver sees is on record as well: the springs tell that it has begun."""

from cabapp.events import Health, HealthKind
from cabapp.outcome import What
from cabapp.words import NOT_ON_RECORD
from tests.cab.drive import Machine, full_rig


def starts(machine: Machine) -> list[float]:
    """When the cab said that a run begins, in seconds of the drive."""
    return [
        moment.t_s
        for moment in machine.moments
        if moment.what is What.RUN and moment.detail == "started"
    ]


def blind() -> Machine:
    machine = Machine(full_rig())
    machine.receiver_on = False
    return machine


def test_springs_that_pull_begin_the_run_where_no_speed_tells_a_phase() -> None:
    machine = blind().work().go(30)
    [began] = starts(machine)
    assert 10.0 <= began < 13.0
    assert [round(row.t_s) for row in machine.rows] == list(range(29))  # from the key on


def test_a_tool_that_lies_in_the_shed_begins_none() -> None:
    machine = blind().work()
    machine.share = 0.05
    assert starts(machine.go(60)) == []


def test_a_spring_pulled_for_a_moment_in_fit_up_begins_none() -> None:
    machine = blind().lift()
    machine.share = {number: 0.9 if number == 3 else 0.02 for number in range(1, 8)}
    assert starts(machine.go(30)) == []
    machine.share = 0.9
    machine.go(8)
    machine.share = 0.0
    assert starts(machine.go(5)) == []


def test_the_receiver_found_later_begins_no_second_run() -> None:
    machine = blind().work().go(30)
    machine.receiver_on = True
    machine.go(60)
    assert len(starts(machine)) == 1
    assert machine.cab.field.worked.gross_m2 > 0.0


def test_drive_knows_whether_a_file_is_being_written() -> None:
    machine = Machine(full_rig()).work().go(5)
    assert machine.snapshot is not None and not machine.snapshot.recording
    machine.step(Health(machine.now, HealthKind.RUN, True))
    machine.go(1)
    assert machine.snapshot.recording


def test_while_nobody_can_tell_what_it_does_drive_says_that_no_file_is_written() -> None:
    machine = blind().lift()
    machine.go(20)
    assert machine.picture.field.note == NOT_ON_RECORD
    machine.step(Health(machine.now, HealthKind.RUN, True))
    machine.go(1)
    assert machine.picture.field.note == ""
