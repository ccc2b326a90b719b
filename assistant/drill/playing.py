"""A drill as it is played: a learner's command in, what comes of it out.

The boat, the meter and the hands are the rig's; this keeps the ledger, says what was seen, gives feedback and hints,
and ends with a debrief.  What a check was worth is reckoned when it is first wanted.
"""

from __future__ import annotations

from assistant.catalogue import Action, Look
from assistant.circuit import Measurement
from assistant.diagnosis import Belief, Diagnosis, SignQuery, SignSeen, Step
from assistant.dialogue.spans import percent
from assistant.dialogue.words import place_label
from assistant.drill import commands
from assistant.drill.debrief import debrief_data, debrief_text, judged
from assistant.drill.hiding import Hidden
from assistant.drill.hints import HINT_S, hint_text
from assistant.drill.inventory import inventory
from assistant.drill.issuing import judge_of
from assistant.drill.judging import Shake, What
from assistant.drill.ledger import Known, Ledger, Made, Named, Wasted
from assistant.drill.reader import Reader
from assistant.drill.reference import BestPath, best_path, evidence_of
from assistant.drill.rig import CLEAR_S, Display, Rig
from assistant.drill.score import Score, score
from assistant.drill.told import Json, Tells, Told, show, warn
from assistant.drill.wording import (
    boat_text,
    display_words,
    mark_text,
    name_text,
    not_shown_text,
    opening_text,
    sign_words,
    state_words,
    step_words,
)
from assistant.errors import AnswerError

SUSPECTS_S = 20.0


class Drill:
    """A drill from the complaint to the debrief.

    Parameters
    ----------
    diagnosis : of the boat and the meter, to judge with; it is asked for nothing before that.
    hidden : what is wrong.
    feedback : when to tell what a check was worth: ``each``, ``end`` or ``none``.
    cautions : text of each caution by id.
    """

    def __init__(
        self, diagnosis: Diagnosis, hidden: Hidden, *, feedback: str, cautions: dict[str, str]
    ) -> None:
        self.reader = Reader(diagnosis.network.boat)
        self.ledger = Ledger()
        self.score: Score | None = None
        self.events: tuple[Told, ...] = ()
        self._boat = diagnosis.network.boat
        self._diagnosis = diagnosis
        self._hidden = hidden
        self._feedback = feedback
        self._cautions = cautions
        first = hidden.complaints[0]
        self._rig = Rig(diagnosis.table.solver, hidden, first, first.query.state, diagnosis.meter)
        self._judge = judge_of(diagnosis, hidden)
        self._last: Measurement | None = None
        self._spent = 0.0
        self._named = self._mended = False
        self._doubted = ""
        self._best_told: Step | None = None
        self._rungs = 0
        self._borne_out: set[str] = set()
        self._told: list[Told] = []
        level = self._level_of_trouble()
        self._start = Known(evidence=(SignSeen(query=first.query, levels=(level,)),))
        self._known = self._start
        self._open(level)

    @property
    def is_over(self) -> bool:
        """Tell whether the drill has ended."""
        return self.score is not None

    def answer(self, typed: str) -> None:
        """Take a command; `events` is what came of it."""
        self._told = []
        try:
            command = self.reader.read(typed)
        except AnswerError as error:
            self._told.append(show("again", str(error)))
        else:
            self._do(command)
        self._close_turn()

    def best(self) -> BestPath:
        """Return the best path on the same boat."""
        return best_path(self._judge, self._diagnosis.table.solver, self._hidden)

    def _level_of_trouble(self) -> str:
        complaint = self._rig.complaint
        level = self._rig.boat.look(complaint.query)
        while self._hidden.comes_and_goes and level == complaint.well:
            self._rig.boat.let_time_pass()
            level = self._rig.boat.look(complaint.query)
        return level

    def _open(self, level: str) -> None:
        query, hidden = self._rig.complaint.query, self._hidden
        text = opening_text(self._boat, hidden.key, query, level, comes_and_goes=hidden.comes_and_goes)
        self._told = [
            show("drill", text, code=hidden.key, **inventory(self._boat, self.reader, query, level))
        ]
        self._close_turn()

    def _close_turn(self) -> None:
        for one in self._rig.take_ignored():
            self.ledger.ignored.append(one.caution)
            self.ledger.costly += one.costly
            self._pay(one.seconds)
            text = f"{one.what} {self._cautions.get(one.caution, '')}".strip()
            self._told.append(warn("caution", text, caution=one.caution, seconds=one.seconds))
        if self.score is None:
            state: Json = dict(self._rig.state.pairs)
            data: dict[str, Json] = {"want": "command", "seconds": self._spent, "state": state}
            self._told.append(Told(tells=Tells.ASK, id="next", text="What next?", data=data))
        self.events = tuple(self._told)

    def _pay(self, seconds: float) -> None:
        """Put seconds on the clock; once a place is named the search is over until something is still wrong."""
        if not self._named:
            self._spent += seconds
            self.ledger.seconds = self._spent

    def _do(self, command: commands.Command) -> None:  # noqa: C901 - one case a command
        match command:
            case commands.Plain():
                self._plain(command.word)
            case commands.SetTo():
                self._pay(command.setting.seconds)
                self._rig.set({command.setting.id: command.value})
                self._say("set", f"Now: {state_words(self._boat, self._rig.state)}.")
            case commands.Read():
                self._read(command)
            case commands.Amps():
                amps = self._rig.amps(command.red, command.black)
                self._say("amps", "The display is dark." if amps is None else f"It shows {amps:.2g} A.")
            case commands.Jack():
                self._rig.volts_hole()
                self._say("jack", "The red lead sits in the volts hole.")
            case commands.LookAt():
                self._look(command)
            case commands.Wiggle():
                self._wiggle(command.place)
            case commands.Name():
                self._name(command.place)
            case commands.Repair():
                self._repair(command)
            case commands.FeedbackWhen():
                self._feedback = command.when
                self._say("feedback", f"Feedback: {command.when}.")

    def _say(self, name: str, text: str, **data: Json) -> None:
        self._told.append(show(name, text, **data))

    def _plain(self, word: commands.Word) -> None:
        match word:
            case commands.Word.HELP:
                self._say("help", "\n".join(f"{form}: {what}" for form, what in commands.USAGE))
            case commands.Word.BOAT:
                self._say("boat", boat_text(self._boat, self.reader.points, self.reader.settings))
            case commands.Word.CLEAR:
                self._pay(CLEAR_S)
                self._rig.clear()
                self._say("clear", "The boat is held, and nothing is near pumps and propellers.")
            case commands.Word.WAIT:
                self._pay(self._rig.wait())
                shows = self._rig.troubled()
                self._say("wait", "The trouble shows now." if shows else "You see nothing change.")
            case commands.Word.HINT:
                self._hint()
            case commands.Word.SUSPECTS:
                self._suspects()
            case commands.Word.PROVE:
                self._prove()
            case commands.Word.AGAIN:
                query = self._rig.complaint.query
                level = self._boat.parts[query.part].kind.signs[query.sign]
                self._say(
                    "again",
                    f"{level.ask.replace('{part}', query.part)} The boat: {state_words(self._boat, self._rig.state)}.",
                )
            case commands.Word.END:
                self.ledger.gave_up = True
                self._conclude()

    def _read(self, command: commands.Read) -> None:
        what = Measurement(
            function=command.function, red=command.red, black=command.black, state=self._rig.state
        )
        seconds = self._seconds(what)
        display = self._rig.read(command.function, command.red, command.black)
        text = display_words(self._boat, what, display, comes_and_goes=self._hidden.comes_and_goes)
        value = display.value
        shown: Json = None if value is None else "OL" if value == float("inf") else value
        self._say("reading", text, value=shown, function=str(what.function), seconds=seconds)
        counts = display.value is not None and display.other is None and bool(display.troubled)
        self._take(what, text, display, seconds, counts=counts)
        self._last = what

    def _look(self, command: commands.LookAt) -> None:
        query = SignQuery(part=command.part, sign=command.sign, state=self._rig.state)
        spec = self._boat.parts[command.part].kind.signs[command.sign]
        if spec.unplugged:
            self._rig.taken_out()
        elif spec.look is Look.FEEL:
            self._rig.hands_in()
        seconds = self._seconds(query)
        counts = bool(self._rig.troubled())
        level = self._rig.boat.look(query)
        turn_s = self._rig.boat.turn_s(query.state)
        self._rig.boat.let_time_pass()
        text = f"{sign_words(self._boat, query, level, turn_s)}."
        self._say("sign", text, part=query.part, sign=query.sign, level=level, seconds=seconds)
        self._take(query, text, level, seconds, counts=counts)

    def _wiggle(self, place: str) -> None:
        what, changed = self._rig.wiggle(place)
        seconds = self._judge.seconds(what, self._rig.state, None)
        label = place_label(self._boat, place)
        text = {
            None: f"You move {label}; the boat is not set so that the trouble could show.",
            True: f"You move {label}: the trouble comes or goes!",
            False: f"You move {label}: nothing changes.",
        }[changed]
        self._say("wiggle", text, place=place, changed=changed)
        self._take(
            what, text, bool(changed), seconds, counts=changed is not None and self._hidden.comes_and_goes
        )

    def _seconds(self, what: What) -> float:
        return self._judge.seconds(what, self._rig.state, self._last)

    def _take(
        self, what: What, text: str, value: float | str | bool | Display, seconds: float, *, counts: bool
    ) -> None:
        """Enter a check, and tell what it was worth when that is wanted."""
        self._pay(seconds)
        before = self._known
        if counts and isinstance(what, Shake):
            self._known = Known(evidence=before.evidence, shaken=(*before.shaken, (what.place, bool(value))))
        elif counts and not isinstance(what, Shake):
            found = value.value if isinstance(value, Display) else value
            piece = evidence_of(what, found if isinstance(found, str) else float(found or 0.0))
            self._known = Known(evidence=(*before.evidence, piece), shaken=before.shaken)
        made = Made(
            what=what,
            shown=text,
            seconds=seconds,
            counts=counts,
            start=self._start,
            before=before,
            after=self._known,
            stood=(self._rig.state, self._last),
            repeated=any(one.asked == what for one in self._start.evidence)
            or any(
                one.what == what and one.counts and one.start == self._start for one in self.ledger.checks
            ),
        )
        self.ledger.checks.append(made)
        self._rungs, self._doubted = 0, ""
        if self._feedback == "each" and counts:
            self._tell_mark(made)

    def _tell_mark(self, made: Made) -> None:
        mark = made.mark(self._judge)
        enough = bool(self._borne_out_by(self._judge.belief(self._known.evidence, self._known.shaken)))
        self._say(
            "mark",
            mark_text(self._boat, mark, made.what, enough=enough, before=self._best_told),
            worth=str(mark.worth),
            left=mark.left,
            best=None if mark.best is None else step_words(self._boat, mark.best),
            why=mark.why,
            enough=enough,
            expected_bits=mark.expected_bits,
            gained_bits=mark.gained_bits,
        )
        self._best_told = mark.best

    def _hint(self) -> None:
        belief = self._judge.belief(self._known.evidence, self._known.shaken)
        step = self._judge.best(belief, self._rig.state, self._last)
        rung = min(self._rungs, len(HINT_S) - 1)
        self._rungs += 1
        self.ledger.hints += 1
        self._pay(HINT_S[rung])
        left = len(self._judge.suspects(belief))
        text = hint_text(self._boat, step, rung, lambda one: self._judge.why(one, belief), left=left)
        self._say("hint", f"{text} (Costs {HINT_S[rung]:.0f} s.)", rung=rung + 1, seconds=HINT_S[rung])

    def _suspects(self) -> None:
        self._pay(SUSPECTS_S)
        belief = self._judge.belief(self._known.evidence, self._known.shaken)
        left = self._judge.suspects(belief)
        named = "; ".join(
            f"{place_label(self._boat, s.repair.place)} {percent(s.probability)}" for s in left[:8]
        )
        more = f"; and {len(left) - 8} more" if len(left) > 8 else ""
        data: list[Json] = [{"place": s.repair.place, "probability": s.probability} for s in left]
        text = f"Still suspected: {named}{more}. (Costs {SUSPECTS_S:.0f} s.)"
        self._say("suspects", text, suspects=data)

    def _name(self, place: str) -> None:
        causes = {repair.place for story in self._hidden.stories for repair in story.repairs[1:]}
        if place in causes and any(fault.part == place for fault in self._rig.boat.faults):
            self._say("name", "That has failed, yes. But what made it fail? Name that.", place=place)
            return
        belief = self._judge.belief(self._known.evidence, self._known.shaken)
        self._borne_out |= self._borne_out_by(belief)
        if self._asks_back(place):
            self._doubted = place
            nearly = place in self._judge.likely(belief)
            self._say("doubt", not_shown_text(self._boat, place, nearly=nearly), place=place)
            return
        self.ledger.named.append(
            Named(place=place, right=self._is_right(place), borne_out=place in self._borne_out)
        )
        self._named = True
        self._say("name", name_text(self._boat, place, self.reader.actions_at(place)), place=place)

    def _asks_back(self, place: str) -> bool:
        """Tell whether a name is put in doubt first: once, while each check is talked over, when it looks guessed."""
        return self._feedback == "each" and place not in self._borne_out and place != self._doubted

    def _borne_out_by(self, belief: Belief) -> frozenset[str]:
        """Return the places that the checks bear out; where nothing more is worth asking, all that are left."""
        if self._judge.best(belief, self._rig.state, self._last) is None:
            left = frozenset(one.repair.place for one in self._judge.suspects(belief))
            return left | self._judge.borne_out(belief)
        return self._judge.borne_out(belief)

    def _is_right(self, place: str, action: Action | None = None) -> bool:
        """Tell whether a place, or an action there, mends what is wrong, or no step tells it from what does."""
        wrong = {fault.part for fault in self._rig.boat.faults}
        belief = self._judge.belief(self._known.evidence, self._known.shaken)
        truths = [story.repairs[0] for story in self._hidden.stories if story.repairs[0].place in wrong]
        return any(
            (truth.place == place and action is None) or self._judge.alike(belief, truth, place, action)
            for truth in truths
        )

    def _repair(self, command: commands.Repair) -> None:
        place, label = command.place, place_label(self._boat, command.place)
        if not self._named:
            self._doubted = place
            self._name(place)
        alike, meant = self._is_right(place), self._is_right(place, command.action)
        cured, fitting = self._rig.mend(place, command.action)
        if (not cured and not alike) or (cured and not fitting and not meant):
            self.ledger.wasted.append(Wasted(place=place, action=command.action))
        self._mended = True
        self._say("repair", f"Done: {command.action} {label}. Now type prove.", place=place)

    def _prove(self) -> None:
        if not self._mended:
            self._say("again", "Nothing was mended yet: name a place and repair it, then prove.")
            return
        wrong = self._rig.still_wrong()
        self._last = None
        if wrong is None:
            self.ledger.proved = True
            self._conclude()
            return
        complaint, level = wrong
        self._rig.complaint = complaint
        self._start = self._known = Known(evidence=(SignSeen(query=complaint.query, levels=(level,)),))
        self._named = self._mended = False
        self._best_told = None
        self._doubted = ""
        self._say(
            "prove",
            f"Something is still wrong: {sign_words(self._boat, complaint.query, level)}.\n"
            f"For the trial all was set again: {state_words(self._boat, self._rig.state)}.\n"
            "Type clear and go on; what was read before the repair was another boat.",
            proved=False,
        )

    def _conclude(self) -> None:
        best = self.best()
        mended = not self._rig.boat.faults
        self.score = score(self.ledger, best, self._judge, stories=len(self._hidden.stories), mended=mended)
        yours = judged(self.ledger.checks, self._judge)
        facts = (self._boat, self._hidden, self.score, yours, best)
        text = debrief_text(*facts, with_marks=self._feedback != "none")
        data = debrief_data(*facts)
        self._told.append(Told(tells=Tells.CONCLUDE, id="debrief", text=text, data=data))
