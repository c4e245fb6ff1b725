"""The strip of a running lesson: what is told, what is asked, and the buttons that lead through it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QAccessible, QAccessibleAnnouncementEvent, QKeyEvent, QResizeEvent
from PySide6.QtWidgets import QFrame, QHBoxLayout, QPushButton, QScrollArea, QWidget

from desktop.teaching.course import Answer, LessonCourse, Score
from desktop.window.parts.panel import Panel
from desktop.window.parts.text import Elided, Text
from desktop.window.style.look import look
from desktop.window.teaching.choices import Choices
from desktop.words import Phrase, kept_together, tr

_GAP, _BETWEEN, _LINE_GAP = 8, 28, 5
_MOST = 0.42
"""The share of the window's height that its words may take; they scroll where they need more."""
_NARROW = 78
"""Characters of width below which answers stand below the words, not beside them."""


@dataclass(frozen=True, slots=True)
class Shown:
    """What is shown of a lesson's note, its values filled in."""

    text: str
    ask: str = ""
    choices: tuple[str, ...] = ()
    explain: str = ""


class LessonStrip(Panel):
    """Always in sight while a lesson runs. `framed` is the strip with the room around it.

    answered    with the choice of this index (int)
    next_asked, back_asked, skip_asked, end_asked  a button was pressed; at the end, back begins again
    """

    answered = Signal(int)
    next_asked = Signal()
    back_asked = Signal()
    skip_asked = Signal()
    end_asked = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(tr("Lesson"), parent)
        self.name = Elided(bold=True)
        self.place = Text(tone="muted")
        self.back = _button(tr("Back"), self.back_asked.emit)
        self.forward = _button(tr("Next"), self._forward)
        self.skip = _button(tr("Skip"), self.skip_asked.emit)
        self.end = _button(tr("End the lesson"), self.end_asked.emit)
        self.words = _Words()
        self.choices = Choices()
        self.choices.changed.connect(self._chosen)
        self._phase = "over"
        self._said = ""
        self._lay_out()
        look().changed.connect(self._measure)

    def _lay_out(self) -> None:
        self.head.addWidget(self.name, 1)
        for part in (self.place, self.back, self.forward, self.skip, self.end):
            self.head.addWidget(part)
        self._inside = _Inside(self.words, self.choices)
        self.scroll = QScrollArea()
        self.scroll.setFrameShape(QFrame.Shape.NoFrame)
        self.scroll.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.scroll.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.scroll.setWidgetResizable(True)
        self.scroll.setWidget(self._inside)
        self.scroll.viewport().setAutoFillBackground(False)
        self._inside.setAutoFillBackground(False)
        self.body.addWidget(self.scroll)
        self.framed = QWidget()
        around = QHBoxLayout(self.framed)
        around.setContentsMargins(_GAP, _GAP, _GAP, 0)
        around.addWidget(self)
        self.framed.hide()

    def show_it(self, shown: bool) -> None:
        """Show the strip, or take it away."""
        self.framed.setVisible(shown)

    # What is shown

    def begin(self, title: str) -> None:
        """Another lesson."""
        self.name.show_text(title)
        self._inside.forget()

    def show_course(self, course: LessonCourse, shown: Shown) -> None:
        """Where it stands."""
        self._phase = course.phase
        score = course.score
        counted = Phrase(
            "{number} of {count}", number=str(course.index + 1), count=str(max(len(course.notes), 1))
        )
        self.place.show_text(str(counted) if course.phase != "over" else "")
        self.back.setText(tr("Again") if course.phase == "over" else tr("Back"))
        self.back.setEnabled(course.phase == "over" or not course.first)
        self.skip.setVisible(course.phase == "asking")
        clicked = course.phase == "asking" and not shown.choices
        self.forward.setVisible(course.phase != "over" and not clicked)
        self.end.setText(tr("Close") if course.phase == "over" else tr("End the lesson"))
        self._name_forward(course)
        if course.phase == "over":
            self._inside.forget()
            self.words.say(_summary(score), "", "")
            self.choices.offer(())
        else:
            self._show_note(course, shown)
        self._measure()
        self._announce()

    def take_focus(self) -> None:
        """Keys go to what is to be done next."""
        if self._phase == "asking" and self.choices.rows:
            self.choices.rows[0].button.setFocus(Qt.FocusReason.OtherFocusReason)
        else:
            (self.end if self._phase == "over" else self.forward).setFocus(Qt.FocusReason.OtherFocusReason)

    def _show_note(self, course: LessonCourse, shown: Shown) -> None:
        asked, answer = bool(shown.ask), course.answer_given
        if course.phase == "going":
            self.words.say(tr("The recording plays to the next moment…"), "", "")
            self.choices.offer(())
        elif course.phase == "asking":
            hint = (
                ""
                if shown.choices
                else tr("Click it in the diagram, or choose it there with arrows and Enter.")
            )
            self.words.say(shown.text, shown.ask, hint)
            self.choices.offer(shown.choices)
        elif asked and answer is not None:
            self.words.say(shown.ask, _verdict(answer, bool(shown.choices)), shown.explain)
            if len(self.choices.rows) != len(shown.choices):
                self.choices.offer(shown.choices)
            question = course.note.question if course.note is not None else None
            self.choices.show_answer(question.right if question is not None else (), answer)
        else:
            self.words.say(shown.text, "", "")
            self.choices.offer(())

    def _name_forward(self, course: LessonCourse) -> None:
        names = {"going": tr("Go there"), "showing": tr("Go there"), "asking": tr("Answer")}
        done = tr("Finish") if course.last else tr("Next")
        self.forward.setText(names.get(course.phase, done))
        self._chosen()

    def _chosen(self) -> None:
        self.forward.setEnabled(self._phase != "asking" or self.choices.chosen is not None)

    def _forward(self) -> None:
        if self._phase != "asking":
            self.next_asked.emit()
        elif self.choices.chosen is not None:
            self.answered.emit(self.choices.chosen)

    def _announce(self) -> None:
        said = " ".join(filter(None, self.words.told()))
        if said != self._said:
            self._said = said
            self.setAccessibleDescription(said)
            if QAccessible.isActive():
                QAccessible.updateAccessibility(QAccessibleAnnouncementEvent(self, said))

    # Keys and room

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Numbers choose an answer; Enter presses the button that has the focus, else goes on."""
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            focused = self.focusWidget()
            pressed = focused if isinstance(focused, QPushButton) and focused.hasFocus() else self.forward
            if pressed.isVisible():
                pressed.click()
        elif not (event.text().isdecimal() and self.choices.choose(int(event.text()))):
            super().keyPressEvent(event)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Another width breaks lines elsewhere."""
        super().resizeEvent(event)
        if event.size().width() != event.oldSize().width():
            self._inside.forget()
            self._measure()

    def _measure(self) -> None:
        margins = self.body.contentsMargins()
        width = self.width() - margins.left() - margins.right()
        most = round(_MOST * max(self.window().height(), 300))
        needed = self._inside.height_in(width)
        beside = self.scroll.verticalScrollBar().sizeHint().width()
        if needed > most:
            needed = self._inside.height_in(width - beside)
        self._inside.place(width - (beside if needed > most else 0))
        self._inside.setMinimumHeight(needed)
        self.scroll.setFixedHeight(min(needed, most))


class _Words(QWidget):
    """Up to three texts, one below the other."""

    def __init__(self) -> None:
        super().__init__()
        self.first = Text(wrap=True, parent=self)
        self.second = Text(wrap=True, bold=True, parent=self)
        self.third = Text(wrap=True, parent=self)
        for part in self._parts:
            part.setAlignment(Qt.AlignmentFlag.AlignTop)

    @property
    def _parts(self) -> tuple[Text, ...]:
        return self.first, self.second, self.third

    def say(self, first: str, second: str, third: str) -> None:
        """Show these; "" for nothing."""
        for part, text in zip(self._parts, (first, second, third), strict=True):
            part.show_text(kept_together(text))
            part.setVisible(bool(text))

    def told(self) -> list[str]:
        """What is shown."""
        return [part.text() for part in self._parts]

    def height_in(self, width: int) -> int:
        """How high it gets in a width."""
        heights = [part.heightForWidth(width) for part in self._parts if part.text()]
        return sum(heights) + _LINE_GAP * max(len(heights) - 1, 0)

    def place(self, width: int) -> None:
        """Put the texts in their places."""
        top = 0
        for part in self._parts:
            if part.text():
                height = part.heightForWidth(width)
                part.setGeometry(0, top, width, height)
                top += height + _LINE_GAP


class _Inside(QWidget):
    """Words, and answers beside them; below them where it is narrow. It gets higher, not lower."""

    def __init__(self, words: _Words, choices: Choices) -> None:
        super().__init__()
        self._words, self._choices = words, choices
        for part in (words, choices):
            part.setParent(self)
        self._least = 0

    def forget(self) -> None:
        """How high it has been."""
        self._least = 0

    def height_in(self, width: int) -> int:
        """How high it gets in a width, or has been."""
        left, right = self._widths(width)
        words, answers = self._words.height_in(left), self._choices.height_in(right)
        needed = max(words, answers) if left + right < width else words + _GAP + answers
        self._least = max(self._least, needed)
        return self._least

    def place(self, width: int) -> None:
        """Put both in their places."""
        left, right = self._widths(width)
        words, answers = self._words.height_in(left), self._choices.height_in(right)
        self._words.setGeometry(0, 0, left, words)
        self._words.place(left)
        self._choices.place(right)
        if left + right < width:
            self._choices.setGeometry(width - right, 0, right, answers)
        else:
            self._choices.setGeometry(0, words + _GAP, right, answers)

    def _widths(self, width: int) -> tuple[int, int]:
        if not self._choices.rows:
            return width - 1, 0
        if width < _NARROW * self.fontMetrics().averageCharWidth():
            return width, width
        half = (width - _BETWEEN) // 2
        return half, half


def _verdict(answer: Answer, choices: bool) -> str:
    if answer.right:
        return tr("Right.")
    if answer.given is None:
        return tr("Passed; the right answer is marked.") if choices else tr("Passed.")
    return tr("Not quite; the right answer is marked.") if choices else tr("Not quite.")


def _summary(score: Score) -> str:
    if not score.total:
        return tr("The end of the notes.")
    return str(
        Phrase(
            "The end of the lesson. Answered rightly: {right} of {total}.",
            right=str(score.right),
            total=str(score.total),
        )
    )


def _button(text: str, act: Callable[[], None]) -> QPushButton:
    button = QPushButton(text)
    button.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
    button.setAutoDefault(False)
    button.clicked.connect(act)
    return button
