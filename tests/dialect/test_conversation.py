from collections.abc import Callable
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from commission.dialect import commands
from commission.dialect.answers import Acknowledging
from commission.dialect.commands import IDENTITY, POSITION, SETTINGS, SWITCHES, TEMPERATURES, Command, Effect
from commission.dialect.conversation import Conversation, ConversationState, Happening, Interruption, OutOfTurn
from commission.dialect.exchange import RESEND_LIMIT
from commission.dialect.moves import OUR_MOVES, PRINTER_MOVES, Act, Signal
from commission.dialect.switches import switches_of
from commission.vocabulary import Reading

CHANGE_FILAMENT = Command("M600", "run the filament change", Effect.MOTION)
HEATER_OFF = commands.HEATERS_OFF[0]
IDENTITY_REPLY = b"FIRMWARE_NAME:ExampleFW 102.1.2 PROTOCOL_VERSION:1.0\nCap:EEPROM:1\nok\n"
FILAMENT_IN = b"Reporting endstop status\nx_min: open\nfilament: TRIGGERED\nok\n"
FILAMENT_OUT = b"Reporting endstop status\nx_min: open\nfilament: open\nok\n"


def asked(command: Command, *, numbered: bool = False) -> Conversation:
    """A conversation in which this command is in flight."""
    conversation = Conversation(numbered=numbered)
    conversation.command(command)
    return conversation


def adrift(command: Command) -> Conversation:
    """A conversation in which this command was given up."""
    conversation = asked(command)
    conversation.give_up()
    return conversation


def told(happenings: list[Happening]) -> list[tuple[str, str]]:
    """What belongs where, blank lines left out."""
    return [(each.reply.text, each.belongs) for each in happenings if each.reply.text]


def heard_every_way(
    begin: Callable[[], Conversation], data: bytes
) -> tuple[list[tuple[str, str]], list[bool], ConversationState]:
    """What the conversation makes of these bytes, provided it is the same whole, byte by byte and with a tail."""
    results = []
    for chunks in ([data], [data[index : index + 1] for index in range(len(data))], [data + b"echo:bu"]):
        conversation = begin()
        happenings = [each for chunk in chunks for each in conversation.feed(chunk)]
        results.append((told(happenings), [each.exchange_done for each in happenings], conversation.state))

    assert results[0] == results[1] == results[2]
    return results[0]


# --- one exchange -----------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("command", "reply"),
    [
        (IDENTITY, IDENTITY_REPLY),
        (IDENTITY, b"FIRMWARE_NAME: ExampleFW FIRMWARE_VERSION: 103.5.1\nok\n"),
        (IDENTITY, b"ok FIRMWARE_VERSION:v100.9.1 FIRMWARE_NAME:ExampleFW\n"),
        (SWITCHES, FILAMENT_IN),
        (SWITCHES, b"ok 0\nendstops hit: x_max:L y_max:L z_max:L\n"),
        (SWITCHES, b"X_min:0 Y_min:0 pins- (X)P1.24:1 Probe: 0\nok\n"),
        (SWITCHES, b"x:open y:open z:TRIGGERED\nok\n"),
        (TEMPERATURES, b"ok T:21.0 /0.0 B:20.0 /0.0\n"),
        (HEATER_OFF, b"ok\n"),
        (HEATER_OFF, b'echo:Unknown command: "M104 S0"\nok\n'),
    ],
)
def test_exchange_ends_with_its_last_line(command: Command, reply: bytes) -> None:
    """Whichever family answers, the exchange ends with the last line of its answer and not before."""
    lines, done, state = heard_every_way(lambda: asked(command), reply)

    assert [False] * (len(done) - 1) + [True] == done
    assert ConversationState.QUIET is state
    assert "aside" not in [belongs for _, belongs in lines]


def test_line_goes_out_plain() -> None:
    """Without line numbers a command is its text and a newline."""
    assert b"M119\n" == Conversation().command(SWITCHES)


def test_asides_are_told_from_the_answer_and_none_is_lost() -> None:
    """Autoreports, keepalives, actions, debug and card lines inside a reply are asides, in their place."""
    data = (
        b"Reporting endstop status\n T:21.0 /0.0 B:20.0 /0.0 @:0 B@:0\nx_min: open\necho:busy: processing\n"
        b"//action:notification Ready\n\nNot SD printing\nstepper debug 0x3F\x00\nwait\nfilament: open\nok\n"
    )
    lines, done, _ = heard_every_way(lambda: asked(SWITCHES), data)

    assert [
        ("Reporting endstop status", "answer"),
        (" T:21.0 /0.0 B:20.0 /0.0 @:0 B@:0", "aside"),
        ("x_min: open", "answer"),
        ("echo:busy: processing", "aside"),
        ("//action:notification Ready", "aside"),
        ("Not SD printing", "aside"),
        ("stepper debug 0x3F", "aside"),
        ("wait", "aside"),
        ("filament: open", "answer"),
        ("ok", "end"),
    ] == lines
    assert 1 == sum(done)


def test_settings_listing_takes_any_text() -> None:
    """In a listing every text line belongs to the answer, except our own command said back."""
    data = b"M503\necho:; Steps per unit:\nG21    ; Units in mm\nSome mesh status\n T:21.0 /0.0\necho: M92 X80.00\nok\n"
    lines, _, _ = heard_every_way(lambda: asked(SETTINGS), data)

    assert ["aside", "answer", "answer", "answer", "aside", "answer", "end"] == [belongs for _, belongs in lines]


def test_similar_word_does_not_end_the_exchange() -> None:
    """A line that begins with the letters of an acknowledgement leaves the command in flight."""
    lines, done, state = heard_every_way(lambda: asked(HEATER_OFF), b"okay, heater off\n")

    assert [("okay, heater off", "aside")] == lines
    assert [False] == done
    assert ConversationState.AWAITING is state


def test_busy_and_paused_are_states_of_the_same_exchange() -> None:
    """While a printer works or waits for a person the command stays in flight, until the acknowledgement."""
    conversation = asked(CHANGE_FILAMENT)
    states = []
    for line in (b"echo:busy: processing\n", b"echo:busy: paused for user\n", b"echo:busy: processing\n", b"ok\n"):
        conversation.feed(line)
        states.append(conversation.state)

    assert [
        ConversationState.BUSY,
        ConversationState.PAUSED,
        ConversationState.BUSY,
        ConversationState.QUIET,
    ] == states


def test_keepalive_of_an_idle_printer_is_no_answer() -> None:
    """Word that the printer idles leaves an unacknowledged command in flight."""
    lines, done, state = heard_every_way(lambda: asked(SWITCHES), b"wait\nwait\n")

    assert [("wait", "aside")] * 2 == lines
    assert [False, False] == done
    assert ConversationState.AWAITING is state


def test_idle_printer_has_no_more_to_say() -> None:
    """After an acknowledgement without the answer's end, word that the printer idles ends the exchange."""
    data = b"ok 0\nEPR:2 75 115200 Baudrate\nEPR:3 3 80.000 Steps/mm\nwait\n"
    lines, done, state = heard_every_way(lambda: asked(commands.ALT_SETTINGS), data)

    assert ["answer", "answer", "answer", "end"] == [belongs for _, belongs in lines]
    assert [False, False, False, True] == done
    assert ConversationState.QUIET is state


def test_lingering_exchange_is_settled() -> None:
    """An acknowledged exchange after which the line fell quiet is ended by us, and the conversation stays in step."""
    conversation = asked(commands.RUNOUT_CONTROL)
    conversation.feed(b"ok\n")

    assert ConversationState.LINGERING is conversation.state

    conversation.end_lingering()

    assert ConversationState.QUIET is conversation.state
    assert not conversation.adrift


def test_stray_acknowledgement_does_not_shift_the_answers() -> None:
    """A late acknowledgement before the answer does not cut it short: the filament line is still in it."""
    conversation = asked(SWITCHES)
    happenings = conversation.feed(b"ok\n" + FILAMENT_IN)

    assert [False, False, False, False, True] == [each.exchange_done for each in happenings]
    assert ["x_min", "filament"] == [state.name for state in switches_of(each.reply.text for each in happenings)]


def test_overlong_line_is_never_obeyed() -> None:
    """A line past the limit is handed on in pieces, and one that reads like an acknowledgement at its end is none."""
    conversation = asked(HEATER_OFF)
    happenings = conversation.feed(b"x" * 8192 + b"ok\n")

    assert b"x" * 8192 + b"ok" == b"".join(each.reply.raw for each in happenings)
    assert all(each.belongs == "aside" for each in happenings)
    assert ConversationState.AWAITING is conversation.state


# --- whose turn it is -------------------------------------------------------------------------------------------


def test_second_command_is_out_of_turn() -> None:
    """With a command in flight another is refused, and nothing changes."""
    conversation = asked(SWITCHES)
    with pytest.raises(OutOfTurn, match="M115"):
        conversation.command(IDENTITY)

    assert SWITCHES == conversation.in_flight


def test_every_state_knows_every_signal_that_can_come() -> None:
    """The table of the printer's moves has an entry for each signal in each state, so that no line can break it."""
    asking = (
        ConversationState.AWAITING,
        ConversationState.BUSY,
        ConversationState.PAUSED,
        ConversationState.RESENT,
        ConversationState.LINGERING,
    )
    expected = {(state, signal) for state in asking for signal in Signal} | {
        (state, signal)
        for state in set(ConversationState) - set(asking)
        for signal in (Signal.ASIDE, Signal.BANNER, Signal.HALTED)
    }

    assert expected == set(PRINTER_MOVES)


@pytest.mark.parametrize("state", list(ConversationState))
def test_one_command_at_a_time_is_in_the_table(state: ConversationState) -> None:
    """A command may be sent exactly where nothing can be given up, a dead printer excepted."""
    may_send = (state, Act.COMMAND) in OUR_MOVES
    may_give_up = (state, Act.GIVE_UP) in OUR_MOVES

    assert may_send is (not may_give_up and state is not ConversationState.HALTED)


@pytest.mark.parametrize("act", [Conversation.give_up, Conversation.end_lingering])
def test_nothing_in_flight_cannot_be_ended(act: Callable[[Conversation], None]) -> None:
    """Giving up and settling are refused when nothing is in flight."""
    with pytest.raises(OutOfTurn):
        act(Conversation())


# --- restarts and halts -----------------------------------------------------------------------------------------


def test_banner_after_opening_is_expected() -> None:
    """Before the first command a boot banner is an aside and no interruption."""
    happenings = Conversation().feed(b"start\necho: External Reset\nExampleFW 102.1.2\n")

    assert [None, None, None] == [each.interruption for each in happenings]


@pytest.mark.parametrize("banner", [b"start\n", b"echo: Brown out Reset\n", b"Compiled: Mar  4 2023\n"])
@pytest.mark.parametrize("quiet", [True, False])
def test_banner_later_is_an_interruption(banner: bytes, quiet: bool) -> None:
    """A boot banner in mid-conversation, asked or quiet, is reported once and drops what was in flight."""
    conversation = asked(SWITCHES)
    if quiet:
        conversation.feed(FILAMENT_IN)
    happenings = conversation.feed(banner + b"echo: Free Memory: 1352  PlannerBufferBytes: 1200\n")

    assert [Interruption.BOARD_RESTARTED, None] == [each.interruption for each in happenings]
    assert conversation.in_flight is None
    assert b"M115\n" == conversation.command(IDENTITY)


def test_halt_ends_the_conversation() -> None:
    """A halted printer is reported, and only a reset makes it our turn again."""
    conversation = asked(SWITCHES)
    (happening,) = conversation.feed(b"Error:Printer halted. kill() called!\n")

    assert Interruption.HALTED is happening.interruption
    with pytest.raises(OutOfTurn):
        conversation.command(IDENTITY)

    (happening,) = conversation.feed(b"start\n")

    assert Interruption.BOARD_RESTARTED is happening.interruption
    assert b"M115\n" == conversation.command(IDENTITY)


# --- given up, and back in step ---------------------------------------------------------------------------------


def test_late_answers_are_asides_until_in_step_again() -> None:
    """After giving up, the late answer is no answer to the next question, whose own answer sets us in step."""
    conversation = adrift(SWITCHES)
    with pytest.raises(OutOfTurn, match="M115"):
        conversation.command(SWITCHES)

    conversation.command(conversation.resync_command)
    happenings = conversation.feed(FILAMENT_IN + IDENTITY_REPLY)

    assert 1 == sum(each.exchange_done for each in happenings)
    assert happenings[-1].exchange_done
    assert ["Reporting endstop status", "x_min: open", "filament: TRIGGERED"] == [
        text for text, belongs in told(happenings) if belongs == "aside"
    ]
    assert not conversation.adrift

    conversation.command(SWITCHES)
    happenings = conversation.feed(FILAMENT_OUT)

    assert [Reading.INACTIVE, Reading.INACTIVE] == [
        state.reading for state in switches_of(each.reply.text for each in happenings)
    ]


def test_heater_can_be_switched_off_while_adrift() -> None:
    """A command that makes safe is not held back by an answer that is still owed, and proves nothing by itself."""
    conversation = adrift(SWITCHES)

    assert b"M104 S0\n" == conversation.command(HEATER_OFF)

    conversation.feed(b"ok\n")

    assert conversation.adrift


def test_a_question_that_falls_quiet_is_not_asked_again() -> None:
    """Acknowledged, and then nothing: the next question for being in step is another one."""
    conversation = adrift(SWITCHES)
    first = conversation.resync_command
    conversation.command(first)
    conversation.feed(b"ok\n")
    assert ConversationState.LINGERING is conversation.state
    conversation.end_lingering()

    assert conversation.adrift
    assert first.answer is not conversation.resync_command.answer


def test_another_question_is_found_when_one_is_given_up() -> None:
    """When the first question for being in step was given up itself, another is offered, and in the end none."""
    conversation = adrift(IDENTITY)
    offered = []
    for _ in range(2):
        offered.append(conversation.resync_command)
        conversation.command(offered[-1])
        conversation.give_up()

    assert [POSITION, TEMPERATURES] == offered
    with pytest.raises(OutOfTurn, match="Close the port"):
        _ = conversation.resync_command


def test_urgent_word_is_said_out_of_turn() -> None:
    """While the printer waits for a person, a word that ends the wait is sent; others are not."""
    conversation = asked(CHANGE_FILAMENT)
    conversation.feed(b"echo:busy: paused for user\n")

    assert b"M108\n" == conversation.interject(commands.CONTINUE)
    assert conversation.adrift
    with pytest.raises(OutOfTurn, match="not urgent"):
        conversation.interject(IDENTITY)

    (happening,) = conversation.feed(b"ok\n")

    assert (True, CHANGE_FILAMENT) == (happening.exchange_done, happening.command)


def test_emergency_stop_is_said_in_every_state() -> None:
    """The emergency stop is never out of turn and leaves the exchange as it was."""
    for conversation in (Conversation(), asked(SWITCHES), adrift(SWITCHES)):
        before = (conversation.state, conversation.in_flight, conversation.adrift)

        assert b"M112\n" == conversation.interject(commands.EMERGENCY_STOP)
        assert before == (conversation.state, conversation.in_flight, conversation.adrift)


# --- queries ahead ---------------------------------------------------------------------------------------------


@pytest.mark.parametrize("size", [1, 7, 1000])
@pytest.mark.parametrize("tail", [b"", b"echo:a no", b"echo:a note\n"])
def test_queued_queries_are_answered_in_order(size: int, tail: bytes) -> None:
    """Three switch queries on the way are answered one after the other, whole or byte by byte, whatever follows."""
    conversation = asked(SWITCHES)
    conversation.queue_ahead(SWITCHES)
    conversation.queue_ahead(SWITCHES)
    wire = FILAMENT_IN + FILAMENT_OUT + FILAMENT_IN + tail
    happenings = [each for at in range(0, len(wire), size) for each in conversation.feed(wire[at : at + size])]
    answered = [each for each in happenings if each.belongs != "aside"]

    assert wire.removesuffix(tail).splitlines() == [each.reply.raw for each in answered]
    assert 3 == sum(each.exchange_done for each in happenings)
    assert ConversationState.QUIET is conversation.state
    assert conversation.may_queue_ahead


@pytest.mark.parametrize("size", [1, 1000])
def test_each_answer_leaves_the_next_awaited(size: int) -> None:
    """Between two answers the next query is in flight, and as many may be queued as were answered."""
    conversation = asked(SWITCHES)
    conversation.queue_ahead(SWITCHES)
    conversation.queue_ahead(SWITCHES)
    for at in range(0, len(FILAMENT_IN), size):
        conversation.feed(FILAMENT_IN[at : at + size])

    assert ConversationState.AWAITING is conversation.state
    assert SWITCHES.text.encode() + b"\n" == conversation.queue_ahead(SWITCHES)
    with pytest.raises(OutOfTurn, match="No further"):
        conversation.queue_ahead(SWITCHES)


def test_only_switch_queries_are_queued() -> None:
    """Another command, a fourth query, and a query behind nothing or behind another command are refused."""
    conversation = asked(SWITCHES)
    with pytest.raises(OutOfTurn, match="Only a question"):
        conversation.queue_ahead(IDENTITY)
    conversation.queue_ahead(SWITCHES)
    conversation.queue_ahead(SWITCHES)
    with pytest.raises(OutOfTurn, match="No further"):
        conversation.queue_ahead(SWITCHES)
    for other in (Conversation(), asked(IDENTITY)):
        with pytest.raises(OutOfTurn, match="only behind"):
            other.queue_ahead(SWITCHES)


@pytest.mark.parametrize(("text", "most"), [("M119", 3), ("M119 XYZ", 3), ("M119 XYZE", 2), (f"M119 {'x' * 60}", 2)])
def test_three_are_sent_where_the_buffer_takes_them(text: str, most: int) -> None:
    """With number and checksum three questions fit into 64 bytes, the smallest buffer; else there are two."""
    question = replace(SWITCHES, text=text)
    conversation = Conversation(numbered=True, first=999_990)
    sent = [conversation.command(question)]
    while len(sent) < most:
        sent.append(conversation.queue_ahead(question))

    assert most == 2 or len(b"".join(sent)) <= 64
    with pytest.raises(OutOfTurn, match="No further"):
        conversation.queue_ahead(question)


def test_nothing_is_queued_where_no_word_ends_an_answer() -> None:
    """On a console that acknowledges by an empty line, or by nothing, two answers could not be told apart."""
    conversation = Conversation(acknowledging=Acknowledging.EMPTY_LINE)
    conversation.command(SWITCHES)

    assert not conversation.may_queue_ahead
    with pytest.raises(OutOfTurn, match="No further"):
        conversation.queue_ahead(SWITCHES)


def test_busy_printer_is_sent_nothing_ahead() -> None:
    """While a printer says that it is busy no query is queued; once it has answered, one may be again."""
    conversation = asked(SWITCHES)
    conversation.feed(b"echo:busy: processing\n")

    assert not conversation.may_queue_ahead
    with pytest.raises(OutOfTurn):
        conversation.queue_ahead(SWITCHES)

    conversation.feed(FILAMENT_IN)

    assert conversation.may_queue_ahead


@pytest.mark.parametrize(
    "trouble", [b"Error:checksum mismatch, Last Line: 0\n", b"Resend: 1\n", b"Error:Wrong checksum\nResend:1\n"]
)
@pytest.mark.parametrize("ahead", [1, 2])
def test_trouble_with_more_on_the_way_drops_all(trouble: bytes, ahead: int) -> None:
    """With two or three on the way a line error leaves it open whose answer comes: all are dropped, none is guessed."""
    conversation = asked(SWITCHES)
    for _ in range(ahead):
        conversation.queue_ahead(SWITCHES)
    happenings = conversation.feed(trouble + FILAMENT_IN * (ahead + 1))

    assert Interruption.ANSWERS_UNCERTAIN is happenings[0].interruption
    assert [None] * (len(happenings) - 1) == [each.interruption for each in happenings[1:]]
    assert {"aside"} == {each.belongs for each in happenings}
    assert conversation.adrift
    assert not conversation.may_queue_ahead


@pytest.mark.parametrize("trouble", [b"Error:something\n" + FILAMENT_IN, b"ok 0\nendstops hit: x_max:L y_max:L\n"])
def test_queueing_ends_for_good(trouble: bytes) -> None:
    """After an error, or an acknowledgement that comes before its answer, nothing is queued ahead any more."""
    conversation = asked(SWITCHES)
    conversation.feed(trouble)
    conversation.command(SWITCHES)

    assert not conversation.may_queue_ahead
    with pytest.raises(OutOfTurn):
        conversation.queue_ahead(SWITCHES)


@settings(deadline=None, max_examples=100)
@given(st.lists(st.booleans(), min_size=1, max_size=12), st.data())
def test_answers_never_slide(presences: list[bool], data: st.DataObject) -> None:
    """However replies are cut up and interleaved, the n-th answer belongs to the n-th query."""
    conversation = Conversation()
    conversation.command(SWITCHES)
    asides = st.sampled_from([b"", b"\n", b" T:21.0 /0.0\n", b"wait\n", b"echo:busy: processing\n", b"debug\x00\n"])
    wire = b"".join(
        line + b"\n" + data.draw(asides)
        for present in presences
        for line in (FILAMENT_IN if present else FILAMENT_OUT).splitlines()
    )
    readings: list[bool] = []
    answer: list[str] = []
    sent = 1
    while wire:
        # at most what was asked for is answered: the printer speaks only when spoken to
        while len(readings) < sent < min(len(presences), len(readings) + 3) and conversation.may_queue_ahead:
            conversation.queue_ahead(SWITCHES)
            sent += 1
        size = data.draw(st.integers(1, len(FILAMENT_IN)))
        chunk, wire = wire[:size], wire[size:]
        for happening in conversation.feed(chunk):
            answer += [happening.reply.text] if happening.belongs != "aside" else []
            if happening.exchange_done:
                readings.append(switches_of(answer)[-1].reading is Reading.ACTIVE)
                answer = []
                if sent < len(presences) and conversation.in_flight is None:
                    conversation.command(SWITCHES)
                    sent += 1

    assert presences == readings


# --- repeats ----------------------------------------------------------------------------------------------------


def sent_by(happenings: list[Happening]) -> list[bytes]:
    """What the happenings ask to be sent."""
    return [each.to_send for each in happenings if each.to_send is not None]


def test_numbered_lines_carry_number_and_checksum() -> None:
    """A numbered conversation counts up from its reset, each line with its checksum."""
    conversation = Conversation(numbered=True)

    assert b"N0 M110 N0*125\n" == conversation.command(commands.RESET_LINE_NUMBER)
    conversation.feed(b"ok\n")

    assert b"N1 M115*39\n" == conversation.command(IDENTITY)


@pytest.mark.parametrize("acknowledged", [b"ok\n", b""])
def test_repeat_request_is_met(acknowledged: bytes) -> None:
    """The line asked for is sent once more; whether the request itself is acknowledged does not matter."""
    conversation = asked(SWITCHES, numbered=True)
    happenings = conversation.feed(b"Error:checksum mismatch, Last Line: 0\nResend: 1\n" + acknowledged)
    rest = conversation.feed(FILAMENT_IN)

    assert [b"N1 M119*43\n"] == sent_by(happenings)
    assert not any(each.exchange_done for each in happenings)
    assert rest[-1].exchange_done


def test_acknowledgement_of_the_request_is_not_taken_for_the_command() -> None:
    """A command that is only acknowledged waits for its own acknowledgement after a repeat, not the request's."""
    conversation = asked(HEATER_OFF, numbered=True)
    first = conversation.feed(b"Error:checksum mismatch, Last Line: 0\nResend: 1\nok\n")
    second = conversation.feed(b"ok\n")

    assert not any(each.exchange_done for each in first)
    assert second[-1].exchange_done


def test_same_request_without_a_new_error_is_ignored_once() -> None:
    """An identical request right behind the first is a stutter; one more is meant."""
    conversation = asked(SWITCHES, numbered=True)

    assert 1 == len(sent_by(conversation.feed(b"Resend:1\nResend:1\n")))
    assert 1 == len(sent_by(conversation.feed(b"Resend:1\n")))


def test_same_request_after_a_new_error_is_met() -> None:
    """When the repeated line was garbled too, the same request is a new one."""
    conversation = asked(SWITCHES, numbered=True)
    data = b"Error:checksum mismatch, Last Line: 0\nResend: 1\n"

    assert 2 == len(sent_by(conversation.feed(data + data)))


def test_repeats_are_bounded() -> None:
    """A printer that asks for ever is answered five times; then the line is called too poor and we are adrift."""
    conversation = asked(SWITCHES, numbered=True)
    happenings = conversation.feed(b"Error:checksum mismatch, Last Line: 0\nResend: 1\n" * (RESEND_LIMIT + 3))

    assert 5 == RESEND_LIMIT == len(sent_by(happenings))
    assert [Interruption.LINE_POOR] == [each.interruption for each in happenings if each.interruption]
    assert conversation.adrift
    assert ConversationState.QUIET is conversation.state


def test_query_is_repeated_under_the_number_asked_for() -> None:
    """A wrong number in a request is met for a query, and counting goes on from it."""
    conversation = asked(SWITCHES, numbered=True)

    assert [b"N9 M119*35\n"] == sent_by(conversation.feed(b"Resend: 9\n"))
    conversation.feed(FILAMENT_IN)

    assert conversation.command(IDENTITY).startswith(b"N10 ")


def test_move_is_never_repeated_under_another_number() -> None:
    """What moves might be done twice under a new number, so such a request ends the exchange instead."""
    conversation = asked(commands.move(e_mm=5, speed_mm_s=2), numbered=True)
    (happening,) = conversation.feed(b"Resend: 9\n")

    assert happening.to_send is None
    assert Interruption.LINE_POOR is happening.interruption


def test_line_the_printer_has_is_not_sent_again() -> None:
    """A request for the next number means that ours was taken: nothing is repeated."""
    conversation = asked(HEATER_OFF, numbered=True)

    assert [] == sent_by(conversation.feed(b"Resend: 2\nok\n"))
    assert conversation.feed(b"ok\n")[-1].exchange_done


def test_plain_line_is_repeated_plain() -> None:
    """Where lines carry no numbers, a request is met with the same plain line."""
    assert [b"M119\n"] == sent_by(asked(SWITCHES).feed(b"Resend: 1\n"))


def test_acknowledgement_of_another_line_is_an_aside() -> None:
    """In a numbered conversation an acknowledgement that names another line ends nothing."""
    conversation = asked(HEATER_OFF, numbered=True)

    assert [("ok N7 P15 B3", "aside")] == told(conversation.feed(b"ok N7 P15 B3\n"))
    assert [("ok N1 P15 B3", "end")] == told(conversation.feed(b"ok N1 P15 B3\n"))


def test_request_when_nothing_is_asked_is_an_aside() -> None:
    """A repeat request out of the blue is handed on and answered with nothing."""
    happenings = Conversation().feed(b"Error:checksum mismatch, Last Line: 0\nResend: 1\nok\n")

    assert [] == sent_by(happenings)
    assert {"aside"} == {each.belongs for each in happenings}


# --- whatever comes ---------------------------------------------------------------------------------------------

FRAGMENTS = (
    *(b"ok\n", b"wait\n", b"start\n", b"Resend: 1\n", b"Error:checksum mismatch, Last Line: 0\n", b"\n", b"\x00"),
    *(b"echo:busy: processing\n", b"echo:busy: paused for user\n", FILAMENT_IN, b"x:open y:open z:open\n"),
    *(b"Error:Printer halted. kill() called!\n", b"//action:pause\n", b"ok N1\n", b"\x1b[2J\n", b"x" * 5000),
)


@settings(deadline=None, max_examples=100)
@given(st.lists(st.sampled_from(FRAGMENTS) | st.binary(max_size=30), max_size=25), st.booleans(), st.data())
def test_nothing_breaks_it_and_nothing_is_lost(fragments: list[bytes], numbered: bool, data: st.DataObject) -> None:
    """Whatever comes and whatever we say in turn, no line is lost, none is repeated without end, nothing raises."""
    conversation = Conversation(numbered=numbered)
    happenings: list[Happening] = []
    for fragment in fragments:
        if (conversation.state, Act.COMMAND) in OUR_MOVES and not conversation.adrift:
            conversation.command(data.draw(st.sampled_from([SWITCHES, IDENTITY, HEATER_OFF])))
        elif conversation.in_flight is not None and data.draw(st.booleans()):
            conversation.give_up()
        happenings += conversation.feed(fragment)

    received = b"".join(fragments)
    kept = b"".join(each.reply.raw for each in happenings) + conversation.pending
    assert received.replace(b"\n", b"").replace(b"\r", b"") == kept.replace(b"\r", b"")
    assert all(each.belongs in ("answer", "aside", "end") for each in happenings)
