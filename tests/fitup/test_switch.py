"""A switch must repeat its state: silence has to mean a cut cable."""

from cabapp.fitup.switch import SwitchStanding, SwitchWatch


def repeating(until, flips_at=(), period=1.0):
    watch = SwitchWatch(0.0)
    at = 0.0
    while at <= until:
        watch.hear(float(sum(at >= flip for flip in flips_at) % 2), at)
        at += period
    return watch


def test_a_switch_that_repeats_each_second_and_changes_five_times_is_proven():
    watch = repeating(30, flips_at=(8, 12, 16, 20, 24))
    view = watch.look(30.0)
    assert view.standing is SwitchStanding.PROVEN and view.down is True
    assert (view.what, view.mend) == ("5 changes seen", "Did the tool go the same way each time?")


def test_a_switch_that_speaks_only_on_change_is_refused_with_the_reason():
    watch = SwitchWatch(0.0)
    for n, at in enumerate((3.0, 8.0, 13.0, 18.0, 23.0, 28.0)):
        watch.hear(float(n % 2), at)
    view = watch.look(30.0)
    assert view.standing is SwitchStanding.ON_CHANGE_ONLY and view.down is None
    assert view.what == "Refused: it does not repeat each second"
    assert "silence must mean a cut cable" in view.mend


def test_a_hand_that_works_an_on_change_switch_fast_does_not_fool_it():
    watch = SwitchWatch(0.0)
    for n in range(30):
        watch.hear(float(n % 2), n * 1.0)
    assert watch.look(29.5).standing is SwitchStanding.ON_CHANGE_ONLY


def test_a_switch_every_two_seconds_is_too_slow():
    assert repeating(30, flips_at=(8, 16), period=2.0).look(30.0).down is None


def test_it_listens_first_then_asks_for_changes():
    watch = repeating(20)
    assert watch.look(3.0).standing is SwitchStanding.LISTENING
    view = watch.look(20.0)
    assert view.standing is SwitchStanding.REPEATS and view.mend == "0 of 5 changes seen."


def test_a_switch_that_never_changes_is_said_to_be_stuck():
    assert repeating(70).look(70.0).standing is SwitchStanding.STUCK


def test_a_cut_cable_is_silence_at_once_and_not_the_last_state():
    watch = repeating(20, flips_at=(8,))
    view = watch.look(24.0)
    assert view.down is None
    assert (view.what, view.mend) == ("The switch says nothing", "Check plug and supply.")
    assert SwitchWatch(0.0).look(10.0).standing is SwitchStanding.SILENT
