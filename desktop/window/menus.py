"""The menus: every command of the window, with its standard key."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from PySide6.QtGui import QAction, QActionGroup, QKeySequence
from PySide6.QtWidgets import QMenu

from desktop.languages import NAMES
from desktop.picture.replay import SPEEDS
from desktop.window import handover
from desktop.window.style.fonts import TEXT_SCALES
from desktop.words import Phrase, template, tr

if TYPE_CHECKING:
    from desktop.window.main import MainWindow
    from desktop.window.settings import Settings

Key = QKeySequence.StandardKey | str | None

_PAGES = {
    "causes": template("What &led to it…"),
    "meters": template("Which &meter reads wrong…"),
    "settings": template("How the &settings stand…"),
    "limit": template("What the input l&imit should be…"),
    "battery": template("What the &battery is like…"),
    "fuel": template("What the &fuel did…"),
}
"""What can be looked into, by the page that shows it."""

_THEME_NAMES = {"system": template("As the system"), "light": template("Light"), "dark": template("Dark")}


class Menus:
    """Builds the menu bar of a window, and keeps the actions whose state changes."""

    def __init__(self, window: MainWindow) -> None:
        self._window = window
        self.needing_review: list[QAction] = []
        self.needing_files: list[QAction] = []
        self.needing_source: list[QAction] = []
        self._file()
        self._view()
        self._replay()
        self._look_into()
        self._live()
        self._help()
        self.set_open(False)
        self.set_live(False)
        self.set_notes(False, False)

    def set_open(self, is_open: bool) -> None:
        """Whether a recording is open; some commands need one."""
        for action in (*self.needing_review, *self.needing_files):
            action.setEnabled(is_open)
        self.play.setEnabled(is_open)

    def set_live(self, live: bool) -> None:
        """Whether a live system is watched; it has neither files nor columns to be asked about."""
        for action in self.needing_source:
            action.setEnabled(live)
        for action in self.needing_files:
            action.setEnabled(not live and self.play.isEnabled())

    def _file(self) -> None:
        window, keys = self._window, QKeySequence.StandardKey
        menu = window.menuBar().addMenu(tr("&File"))
        _add(menu, tr("&Open…"), window.ask_open, keys.Open)
        self.recent = menu.addMenu(tr("Open &recent"))
        self.recent.aboutToShow.connect(self._fill_recent)
        menu.addSeparator()
        _add(menu, tr("Co&nnect…"), window.live.ask_connect, "Ctrl+K")
        self.sources = menu.addMenu(tr("Connect &again"))
        self.sources.aboutToShow.connect(self._fill_sources)
        menu.addSeparator()
        demos = menu.addMenu(tr("&Demo recordings"))
        for demo in window.demos:
            action = _add(demos, tr(demo.title).replace("&", "&&"), lambda demo=demo: window.open_demo(demo))
            action.setToolTip(tr(demo.look_for))
        demos.setToolTipsVisible(True)
        demos.setEnabled(bool(window.demos))
        menu.addSeparator()
        self.needing_files += [
            _add(menu, tr("Site s&heet…"), window.show_sheet, "F4"),
            _add(menu, tr("Use another &site sheet…"), window.ask_site),
            _add(menu, tr("Co&lumns…"), window.ask_columns, "Shift+F4"),
        ]
        self._needs(_add(menu, tr("Review as &text…"), self._telling(window.show_details), "Ctrl+I"))
        menu.addSeparator()
        report = self._telling(lambda: handover.ask_report(window))
        self._needs(_add(menu, tr("Report to hand o&ver…"), report, "Ctrl+Shift+R"))
        pack = self._telling(lambda: handover.show_pack(window))
        self.needing_files.append(_add(menu, tr("Pac&k to take along…"), pack, "Ctrl+Shift+P"))
        menu.addSeparator()
        self._needs(_add(menu, tr("&Export picture…"), lambda: handover.ask_picture(window), "Ctrl+E"))
        self._needs(_add(menu, tr("&Copy picture"), lambda: handover.copy_picture(window), "Ctrl+Shift+C"))
        self._needs(_add(menu, tr("&Print…"), lambda: handover.print_picture(window), keys.Print))
        menu.addSeparator()
        leave = _add(menu, tr("&Quit"), window.close, keys.Quit)
        leave.setMenuRole(QAction.MenuRole.QuitRole)

    def _view(self) -> None:
        window = self._window
        menu = window.menuBar().addMenu(tr("&View"))
        themes = menu.addMenu(tr("&Theme"))
        self.themes = _choice(
            themes, [(tr(label), key) for key, label in _THEME_NAMES.items()], window.set_theme
        )
        languages = menu.addMenu(tr("&Language"))
        names = [(tr("As the system"), "system"), *((name, code) for code, name in NAMES.items())]
        self.languages = _choice(languages, names, window.set_language)
        sizes = menu.addMenu(tr("Text &size"))
        labels = [(str(Phrase("{size:%}", size=100 * scale)), scale) for scale in TEXT_SCALES]
        self.sizes = _choice(sizes, labels, window.set_text_scale)
        sizes.addSeparator()
        _add(sizes, tr("&Larger"), lambda: window.shift_text_scale(1), QKeySequence.StandardKey.ZoomIn)
        _add(sizes, tr("S&maller"), lambda: window.shift_text_scale(-1), QKeySequence.StandardKey.ZoomOut)
        self.motion = _add(menu, tr("&Motion"), window.set_motion)
        self.motion.setCheckable(True)
        self.alarm_sound = _add(menu, tr("&Alarm sound"), window.live.set_sounds)
        self.alarm_sound.setCheckable(True)
        menu.addSeparator()
        self._needs(_add(menu, tr("&Fit all time"), window.board.trends.fit, "Ctrl+0"))
        self._needs(_add(menu, tr("&Usual layout"), window.board.usual_layout))
        self.full = _add(
            menu, tr("Full &screen"), window.set_full_screen, QKeySequence.StandardKey.FullScreen
        )
        self.full.setCheckable(True)

    def _replay(self) -> None:
        bar = self._window.board.replay
        menu = self._window.menuBar().addMenu(tr("&Replay"))
        # The space bar is the window's only where nothing else wants it, such as a button with the focus.
        self.play = _add(menu, "", bar.toggle)
        self.show_playing(False)
        bar.playing_changed.connect(self.show_playing)
        self._window.board.pinned.connect(self._show_pinned)
        speeds = menu.addMenu(tr("&Speed"))
        labels = [(f"{speed}×", speed) for speed in SPEEDS]
        self.speeds = _choice(speeds, labels, bar.set_speed)
        speeds.aboutToShow.connect(lambda: _check(self.speeds, bar.clock.speed))
        menu.addSeparator()
        self._needs(_add(menu, tr("&Next finding"), bar.next_finding, "F3"))
        self._needs(_add(menu, tr("&Previous finding"), bar.previous_finding, "Shift+F3"))
        self._needs(_add(menu, tr("&Go to time…"), self._window.ask_time, "Ctrl+G"))
        menu.addSeparator()
        self.lessons = menu.addMenu(tr("&Lessons"))
        self.lessons.aboutToShow.connect(self._fill_lessons)
        teaching = self._window.teaching
        self.needing_notes = [
            _add(menu, tr("Next n&ote"), teaching.next_note, "F6"),
            _add(menu, tr("P&revious note"), teaching.previous_note, "Shift+F6"),
        ]
        self.notes = _add(menu, tr("No&tes…"), teaching.show_editor, "F8")
        menu.addSeparator()
        self._needs(_add(menu, tr("Loop from here (&A)"), bar.mark_a))
        self._needs(_add(menu, tr("Loop to here (&B)"), bar.mark_b))
        self._needs(_add(menu, tr("&End the loop"), bar.clear_loop))

    def _look_into(self) -> None:
        look = self._window.look
        menu = self._window.menuBar().addMenu(tr("Look &into"))
        for number, (key, name) in enumerate(_PAGES.items(), start=1):
            show = self._telling(lambda key=key: look.show_page(key))
            self._needs(_add(menu, tr(name), show, f"Ctrl+{number}"))
        menu.addSeparator()
        _add(menu, tr("&Plan for an outage…"), self._telling(self._window.plan.show), "Ctrl+7")
        # What grows has no end to compare yet.
        compare = self._telling(self._window.comparing.show)
        self.needing_files.append(_add(menu, tr("&Compare…"), compare, "Ctrl+8"))

    def _live(self) -> None:
        live = self._window.live
        menu = self._window.menuBar().addMenu(tr("&Live"))
        self.needing_source += [
            _add(menu, tr("Go to the &newest reading"), live.go_live, "L"),
            _add(menu, tr("&Record…"), live.ask_record, "Ctrl+R"),
            _add(menu, tr("&End the recording"), live.stop_recording),
            _add(menu, tr("&Acknowledge alarms"), live.acknowledge, "Ctrl+Shift+A"),
        ]
        menu.addSeparator()
        self.needing_source.append(_add(menu, tr("&Stop watching"), live.stop))

    def _help(self) -> None:
        window = self._window
        menu = window.menuBar().addMenu(tr("&Help"))
        _add(menu, tr("&Procedure"), self._telling(window.show_procedure), "F1")
        _add(menu, tr("&Cautions"), window.show_cautions)
        about = _add(menu, tr("&About Headrace"), window.show_about)
        about.setMenuRole(QAction.MenuRole.AboutRole)

    def show_playing(self, playing: bool) -> None:
        """Name what the command does now."""
        self._name_play(tr("&Pause") if playing else tr("&Play"))

    def _show_pinned(self, pinned: bool) -> None:
        self._name_play(tr("&Hold") if pinned else tr("&Play"))

    def _name_play(self, text: str) -> None:
        self.play.setText(f"{text}\t{tr('Space')}")

    def show_choices(self, settings: Settings) -> None:
        """Check what is set."""
        _check(self.themes, settings.theme)
        _check(self.languages, settings.language)
        _check(self.sizes, settings.text_scale)
        self.motion.setChecked(settings.motion)
        self.alarm_sound.setChecked(settings.alarm_sound)

    def _fill_sources(self) -> None:
        self.sources.clear()
        wishes = self._window.settings.sources
        for number, wish in enumerate(wishes, start=1):
            label = f"&{number % 10}  {wish.name.replace('&', '&&')}"
            action = _add(self.sources, label, lambda wish=wish: self._window.live.watch(wish))
            action.setToolTip("\n".join(filter(None, (wish.source, str(wish.site or "")))))
        self.sources.setToolTipsVisible(True)
        if not wishes:
            self.sources.addAction(tr("Nothing yet")).setEnabled(False)
            return
        self.sources.addSeparator()
        _add(self.sources, tr("Forget these"), self._window.settings.forget_sources)

    def set_notes(self, are_some: bool, can_be: bool) -> None:
        """Whether there are notes on what is open, and whether there can be any."""
        for action in self.needing_notes:
            action.setEnabled(are_some)
        self.notes.setEnabled(can_be)

    def _fill_lessons(self) -> None:
        self.lessons.clear()
        teaching = self._window.teaching
        for demo, title in teaching.lessons():
            label = title.replace("&", "&&")
            _add(self.lessons, label, lambda demo=demo: teaching.open_lesson(demo))
        self.lessons.addSeparator()
        mine = _add(self.lessons, tr("Of &this recording"), teaching.start)
        mine.setEnabled(bool(teaching.notes.notes))

    def _fill_recent(self) -> None:
        self.recent.clear()
        entries = self._window.settings.recent
        for number, opened in enumerate(entries, start=1):
            label = f"&{number % 10}  {opened.name.replace('&', '&&')}"
            action = _add(self.recent, label, lambda opened=opened: self._window.open_again(opened))
            action.setToolTip("\n".join(opened.paths))
        self.recent.setToolTipsVisible(True)
        if not entries:
            self.recent.addAction(tr("Nothing yet")).setEnabled(False)
            return
        self.recent.addSeparator()
        _add(self.recent, tr("Forget these"), self._window.settings.forget_recent)

    def _needs(self, action: QAction) -> None:
        self.needing_review.append(action)

    def _telling(self, act: Callable[[], object]) -> Callable[[], object]:
        """A command that would tell what a lesson is still to ask: it says so then, in place of being done."""
        teaching = self._window.teaching
        return lambda: teaching.holds_back() or act()


def _add(menu: QMenu, label: str, act: Callable[..., object], key: Key = None) -> QAction:
    action = menu.addAction(label)
    action.triggered.connect(lambda checked: act(checked) if action.isCheckable() else act())
    if key is not None:
        action.setShortcut(QKeySequence(key))
    return action


def _choice(menu: QMenu, labels: list[tuple[str, object]], act: Callable[[object], object]) -> QActionGroup:
    group = QActionGroup(menu)
    for label, value in labels:
        action = group.addAction(label)
        action.setCheckable(True)
        action.setData(value)
        menu.addAction(action)
    group.triggered.connect(lambda action: act(action.data()))
    return group


def _check(group: QActionGroup, value: object) -> None:
    for action in group.actions():
        action.setChecked(action.data() == value)
