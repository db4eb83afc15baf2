"""What an installer's page is told of the wires."""

from cabapp.engine.listening import MOST_SAMPLES, Listening
from cabapp.events import Bytes, PortCondition, PortState
from tests.sentences import sentence


def test_a_port_says_how_it_is_and_what_it_needs_page_open_or_not() -> None:
    listening = Listening()
    assert listening.hear(PortState(1.0, "gnss", PortCondition.DENIED, "dialout"))
    [port] = listening.ports(1.0).ports
    assert (port.name, port.condition, port.detail) == ("gnss", PortCondition.DENIED, "dialout")
    assert (port.kinds, port.silent_s) == ((), None)


def test_an_open_page_sees_sentences_their_rate_and_raw_values() -> None:
    listening = Listening()
    listening.open = True
    for tenth in range(50):
        at = tenth / 10
        listening.hear(Bytes(at, "node", sentence(f"YXXDR,U,2.{tenth:02d},V,ADC1")))
        listening.hear(Bytes(at, "gnss", sentence("GPRMC,120000,V,,,,,,,150626,,,N")))
    ports = {port.name: port for port in listening.ports(5.0).ports}
    assert ports["gnss"].kinds == ("RMC",)
    assert abs(ports["node"].rate_hz - 10.0) < 0.5
    assert ports["node"].silent_s == 5.0 - 4.9
    values = [sample.value for sample in listening.samples().samples]
    assert values == [float(f"2.{n:02d}") for n in range(50)]
    assert listening.samples().samples == ()


def test_a_wire_that_fell_silent_says_for_how_long() -> None:
    listening = Listening()
    listening.open = True
    listening.hear(Bytes(1.0, "node", sentence("YXXDR,U,2.4,V,ADC1")))
    [port] = listening.ports(41.0).ports
    assert (port.silent_s, port.rate_hz, port.kinds) == (40.0, 0.0, ())


def test_no_page_open_costs_no_reading_and_a_flood_is_bounded() -> None:
    listening = Listening()
    listening.hear(Bytes(1.0, "node", sentence("YXXDR,U,2.4,V,ADC1")))
    assert listening.samples().samples == ()
    listening.open = True
    for number in range(2 * MOST_SAMPLES):
        listening.hear(Bytes(2.0 + number, "node", sentence("YXXDR,U,2.4,V,ADC1")))
    assert len(listening.samples().samples) == MOST_SAMPLES
