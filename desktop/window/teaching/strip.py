"""The strip of a running lesson: what is told, what is asked, and the buttons that lead through it."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QAccessible, QAccessibleAnnouncementEvent, QKeyEvent, QResizeEvent
from PySide6.QtWidgets import QFrame, QHBoxLayout, QPushButton, QScrollArea, QWidget

from desktop.teaching.course import LessonCourse
from desktop.window.parts.panel import Panel
from desktop.window.parts.text import Elided, Text
from desktop.window.style.look import look
from desktop.window.teaching import shown as wording
from desktop.window.teaching.choices import Choices
from desktop.window.teaching.shown import Shown
from desktop.window.teaching.words import Inside, Words
from desktop.words import Phrase, tr

_GAP = 8
_ENDS = {Qt.Key.Key_Down: 0, Qt.Key.Key_Up: -1}
_MOST = 0.42
"""The share of the window's height that its words may take; they scroll where they need more."""


class LessonStrip(Panel):
    """Always in sight while a lesson runs. `framed` is the strip with the room around it.

    answered      with the choice of this index (int)
    next_asked, back_asked, skip_asked, end_asked  a button was pressed; at the end, back begins again
    return_asked  the moment that is spoken of is to be shown again

    chosen_before  the index of a choice that was chosen already when the question is first shown, or None
    """

    answered = Signal(int)
    next_asked = Signal()
    back_asked = Signal()
    skip_asked = Signal()
    end_asked = Signal()
    return_asked = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(tr("Lesson"), parent)
        self.chosen_before: int | None = None
        self.name = Elided(bold=True)
        self.place = Text(tone="muted")
        self.back = _button(tr("Back"), self.back_asked.emit)
        self.forward = _button(tr("Next"), self._forward)
        self.skip = _button(tr("Skip"), self.skip_asked.emit)
        self.end = _button(tr("End the lesson"), self.end_asked.emit)
        self.words = Words()
        self.choices = Choices()
        self.choices.changed.connect(self._chosen)
        self.aside = Text(tone="attend", wrap=True)
        self.return_button = _button(tr("Back to the moment"), self.return_asked.emit)
        self._phase = "over"
        self._missed = False
        self._offered: tuple[int, tuple[str, ...]] = (-1, ())
        self._away = ""
        self._said = ""
        self._lay_out()
        self.frame_focus(self)
        # After all texts in it have taken their new font.
        look().changed.connect(self._measure, Qt.ConnectionType.QueuedConnection)

    def _lay_out(self) -> None:
        self.head.addWidget(self.name, 1)
        for part in (self.place, self.back, self.forward, self.skip, self.end):
            self.head.addWidget(part)
        self._inside = Inside(self.words, self.choices)
        self.scroll = QScrollArea()
        self.scroll.setFrameShape(QFrame.Shape.NoFrame)
        self.scroll.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.scroll.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.scroll.setWidgetResizable(True)
        self.scroll.setWidget(self._inside)
        self.scroll.viewport().setAutoFillBackground(False)
        self._inside.setAutoFillBackground(False)
        self.body.addWidget(self.scroll)
        beside = QHBoxLayout()
        beside.addWidget(self.aside, 1, Qt.AlignmentFlag.AlignVCenter)
        beside.addWidget(self.return_button)
        self.body.addLayout(beside)
        self._show_aside("")
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
        self._offered = (-1, ())

    def show_course(self, course: LessonCourse, shown: Shown, playing: bool = True) -> None:
        """Where it stands. `playing`: on the way to the next moment the replay plays."""
        self._phase, self._missed = course.phase, bool(course.missed)
        over = course.phase == "over"
        counted = Phrase(
            "{number} of {count}", number=str(course.index + 1), count=str(max(len(course.notes), 1))
        )
        self.place.show_text("" if over else str(counted))
        self.back.setText(tr("Again") if over else tr("Back"))
        self.back.setEnabled(over or not course.first)
        self.skip.setVisible(course.phase == "asking")
        clicked = course.phase == "asking" and not shown.choices
        self.forward.setVisible(not over and not clicked)
        self.end.setText(tr("Close") if over else tr("End the lesson"))
        if over:
            self.words.say(wording.summary(course.score), "", "")
            self.choices.offer(())
        else:
            self._show_note(course, shown, playing)
        self._name_forward(course)
        self._away = ""
        self._show_aside("")
        self._measure()
        self._announce(" ".join(filter(None, self.words.told())))

    def tell(self, text: str) -> None:
        """Say something beside the lesson, until it goes on."""
        self._show_aside(text)
        self._announce(text)

    def tell_away(self, text: str) -> None:
        """Say that another moment is shown than the one that is spoken of, with the way back; "": it is that."""
        if text != self._away or not text:
            self._away = text
            self._show_aside(text)
            self._announce(text)

    def take_focus(self) -> None:
        """Keys go to what is to be done next; after a wrong answer to none of the others, which would be a hint."""
        open_rows = [row for row in self.choices.rows if row.button.isEnabled()]
        if self._phase == "asking" and self._missed:
            self.setFocus(Qt.FocusReason.TabFocusReason)
        elif self._phase == "asking" and open_rows:
            chosen = next((row for row in open_rows if row.button.isChecked()), open_rows[0])
            chosen.button.setFocus(Qt.FocusReason.OtherFocusReason)
        else:
            (self.end if self._phase == "over" else self.forward).setFocus(Qt.FocusReason.OtherFocusReason)

    def _show_note(self, course: LessonCourse, shown: Shown, playing: bool) -> None:
        answer = course.answer_given
        if course.phase == "going":
            playing_on = tr("The recording plays to the next moment…")
            paused = tr("The recording is paused on its way to the next moment.")
            self.words.say(playing_on if playing else paused, "", "")
            self.choices.offer(())
        elif course.phase == "asking":
            self._ask(course, shown)
        elif answer is not None:
            self._offer(course, shown)
            what = shown.explain
            if course.phase == "showing":
                what = (
                    tr("The recording plays on to what happened…")
                    if playing
                    else tr("The recording is paused on its way to what happened.")
                )
            self.words.say(shown.ask, wording.verdict(course, answer, shown), what)
            question = course.note.question if course.note is not None else None
            self.choices.show_answer(question.right if question is not None else (), answer)
        else:
            self.words.say(shown.text, "", "")
            self.choices.offer(())

    def _ask(self, course: LessonCourse, shown: Shown) -> None:
        hint = (
            "" if shown.choices else tr("Click it in the diagram, or choose it there with arrows and Enter.")
        )
        self._offer(course, shown)
        self.choices.show_missed(course.missed)
        self.words.say(shown.text, shown.ask, wording.missed(course, shown) or hint)

    def _offer(self, course: LessonCourse, shown: Shown) -> None:
        """Offer the answers, where they aren't there already with what was chosen of them."""
        wanted = (course.index, shown.choices)
        if wanted == self._offered and len(self.choices.rows) == len(shown.choices):
            return
        self._offered = wanted
        self.choices.offer(shown.choices)
        if self.chosen_before is not None and course.phase == "asking":
            self.choices.select(self.chosen_before)
        self.chosen_before = None

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

    def _show_aside(self, text: str) -> None:
        self.aside.show_text(text)
        self.aside.setVisible(bool(text))
        self.return_button.setVisible(bool(self._away))

    def _announce(self, said: str) -> None:
        if said and said != self._said:
            self._said = said
            self.setAccessibleDescription(said)
            if QAccessible.isActive():
                QAccessible.updateAccessibility(QAccessibleAnnouncementEvent(self, said))

    # Keys and room

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Numbers choose an answer, and arrows begin at either end; Enter presses the button that has the focus,
        else goes on."""
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            focused = self.focusWidget()
            pressed = focused if isinstance(focused, QPushButton) and focused.hasFocus() else self.forward
            if pressed.isVisible():
                pressed.click()
        elif self.hasFocus() and event.key() in _ENDS:
            self.choices.choose_end(_ENDS[Qt.Key(event.key())])
        elif not (event.text().isdecimal() and self.choices.choose(int(event.text()))):
            super().keyPressEvent(event)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Another width breaks lines elsewhere."""
        super().resizeEvent(event)
        if event.size().width() != event.oldSize().width():
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


def _button(text: str, act: Callable[[], None]) -> QPushButton:
    button = QPushButton(text)
    button.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
    button.setAutoDefault(False)
    button.clicked.connect(act)
    return button
