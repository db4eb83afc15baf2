"""The alert band: level shape, headline, action, further alerts, and the picture of Quiet.

The whole band is the target of Quiet; the plate at its right end only shows where to look.
"""

from math import ceil

from cabapp.outcome import BandView, Chip, Quieting, TileState
from cabapp.screens.ink import Part, Say, Sign, Tile
from cabapp.screens.ruler import Layout
from cabapp.screens.shapes import box, frame, line, round_frame
from cabapp.screens.theme import Role
from cabapp.screens.tiles.plate import MARKS
from cabapp.words import SAYINGS, Arrow, CalmHeadline, Level, Rule

REST = BandView(None, "STARTING", "", "", mark=TileState.STARTING)
HEADLINE_LIMIT, HEADLINE_LIMIT_SMALL = 579.0, 564.0
ACTION_LIMIT, SHORT_LIMIT, SHORT_LIMIT_MORE = 845.0, 562.0, 500.0
CHIP_LIMIT = 192.0
SHAPES = {Level.ACT: "act", Level.NO_READING: "no_reading", Level.NOTE: "note"}
CALM_SIGNS = {CalmHeadline.WORKING.value: "lowered"}  # nothing is said to be in band
SHORT_HEADLINES = {CalmHeadline.NOT_SET_TODAY.value: "NOT SET"}  # the action line says today
SOUNDLESS = SAYINGS[(Rule.NO_SOUND, "")].headline
LOOKS = {Arrow.UP: "look_up", Arrow.DOWN: "look_down", Arrow.NONE: "look"}


def shape_of(level: Level, arrow: Arrow) -> str:
    """The sign of a level; a look points the way to change it."""
    return LOOKS[arrow] if level is Level.LOOK else SHAPES[level]


class ChipRow:
    """One further alert beside the headline: its shape and one word."""

    def __init__(self, tile: Tile, x: float, y: float, w: float) -> None:
        self.x, self.y, self.w, self.h = x, y, w, 44.0
        self.edge = Part(tile, Role.ON_LOOK)
        self.fill = Part(tile, Role.GROUND)
        self.sign = Sign(tile)
        self.word = Say(tile, x + 60, y + 37.5, 31, limit=CHIP_LIMIT)

    def show(self, chip: Chip | None, on: Role) -> None:
        """Show a chip on a band of role ``on``, or nothing."""
        if chip is None:
            self.edge.put()
            self.fill.put()
            self.sign.put("")
            self.word.put("")
            return
        act = chip.level is Level.ACT
        paper, ink = (Role.ACT, Role.ON_ACT) if act else (Role.GROUND, Role.INK)
        line_role = (
            Role.ON_ACT if on is Role.ACT else Role.INK if on is Role.GROUND else Role.ON_LOOK
        )
        self.edge.put(box(self.x, self.y, self.w, self.h), role=line_role)
        self.fill.put(box(self.x + 4, self.y + 4, self.w - 8, self.h - 8), role=paper)
        self.sign.put(
            shape_of(chip.level, chip.arrow), self.x + 12, self.y + 5, 34, ink, Role.WANTED, paper
        )
        self.word.put(chip.word, role=ink)


class BandTile(Tile):
    """Shows a BandView; knows no rule."""

    def __init__(self, layout: Layout) -> None:
        super().__init__(layout, "band")
        small, w, h = layout.small, self.rect.w, self.rect.h
        lift = (h - (151 if small else 158)) / 2
        self.words_x = 169.5 if small else 186.0
        self.limits = (w - 165 - 12 - self.words_x) if small else HEADLINE_LIMIT
        self.edge = Part(self, Role.INK)
        self.fill = Part(self, Role.GROUND)
        self.rule = Part(self, Role.HAIRLINE)
        self.press = Part(self, Role.PRESSED)
        self.sign = Sign(self)
        head, act = (78.0, 131.0) if small else (84.0, 139.0)
        self.headline = Say(
            self,
            self.words_x,
            head + lift,
            62,
            limit=HEADLINE_LIMIT_SMALL if small else HEADLINE_LIMIT,
        )
        self.action = Say(self, self.words_x, act + lift, 37)
        self.calm = Say(self, self.words_x, act + lift, 37, Role.SOFT, bold=False)
        chip_x = w - 465
        self.chips = (
            () if small else tuple(ChipRow(self, chip_x, 12 + lift + 50 * i, 262) for i in range(2))
        )
        self.more = Say(
            self,
            w - 177 if small else chip_x + 2,
            (132 if small else 143) + lift,
            31,
            align="right" if small else "left",
        )
        plate = (w - 165, 12.0, 154.0, h - 24) if small else (w - 189, 12.0, 177.0, h - 24)
        self.plate_box = plate
        self.plate = Part(self, Role.INK)
        middle = plate[0] + plate[2] / 2
        self.speaker = Sign(self)
        self.slash = Part(self, Role.INK)
        self.look_sign = Sign(self)
        self.quiet_big = Say(self, middle, plate[1] + plate[3] - 17, 37, align="middle")
        self.quiet_small = Say(
            self, middle, plate[1] + plate[3] - 17, 31, align="middle", limit=178
        )
        self.view, self.down = REST, False

    def show(self, view: BandView, now: float) -> None:
        """Take a new view; only what differs is drawn again."""
        self.view = view
        ground, ink = self._coats(view.level)
        self._ground(view.level, ground)
        self._sign(view, ground, ink)
        self._words(view, ink)
        for row, chip in zip(self.chips, (*view.chips[:2], None, None), strict=False):
            row.show(chip, ground)
        self._more(view, ink)
        self._quiet(view, ground, ink)

    def press_down(self, down: bool) -> None:
        """Show that a finger is on the band."""
        self.down = down
        self.show(self.view, 0.0)

    @staticmethod
    def _coats(level: Level | None) -> tuple[Role, Role]:
        if level is Level.ACT:
            return Role.ACT, Role.ON_ACT
        return (Role.LOOK, Role.ON_LOOK) if level is Level.LOOK else (Role.GROUND, Role.INK)

    def _ground(self, level: Level | None, ground: Role) -> None:
        w, h = self.rect.w, self.rect.h
        if level is None:
            self.edge.put()
            self.fill.put()
            self.rule.put(box(0, h - 2, w, 2))
        else:
            self.rule.put()
            self.edge.put(*(() if level is Level.ACT else (frame(0, 0, w, h, 6),)))
            inset = 0 if level is Level.ACT else 6
            self.fill.put(box(inset, inset, w - 2 * inset, h - 2 * inset), role=ground)
        x, y, pw, ph = self.plate_box
        self.press.put(*((box(x, y, pw, ph),) if self.down and level is not Level.ACT else ()))

    def _sign(self, view: BandView, ground: Role, ink: Role) -> None:
        middle_x, middle_y = self.words_x / 2 - 4, self.rect.h / 2
        if view.level is None:
            name, size = CALM_SIGNS.get(view.headline, MARKS.get(view.mark, "")), 110.0
        else:
            name = shape_of(view.level, view.arrow)
            size = 148.0 if view.level is Level.ACT else 130.0
            size = 116.0 if view.level is Level.NO_READING else size
        x = middle_x - size / 2 + (4 if view.level is None else 0)
        self.sign.put(name, x, middle_y - size / 2, size, ink, Role.WANTED, ground)

    def _words(self, view: BandView, ink: Role) -> None:
        small = self.layout.small
        beside = bool(view.chips or view.more)
        text = view.short if view.short and (small or beside) else view.action
        calm = view.level is None
        headline = SHORT_HEADLINES.get(view.headline, view.headline) if small else view.headline
        self.headline.limit = HEADLINE_LIMIT_SMALL if small else self.head_limit(calm)
        self.headline.put(headline, role=ink)
        self.action.limit = self.action_limit(beside)
        self.action.put("" if calm else text, role=ink)
        self.calm.limit = self.action_limit(False)
        self.calm.put(text if calm else "")

    @staticmethod
    def head_limit(calm: bool) -> float:
        """The headline's room on a large panel: as far as the chips, or as the sound's place."""
        return ACTION_LIMIT if calm else HEADLINE_LIMIT

    def action_limit(self, beside: bool) -> float:
        """The room of the action line, with or without further alerts beside it."""
        if self.layout.small:
            return SHORT_LIMIT_MORE if beside else SHORT_LIMIT
        return SHORT_LIMIT if beside else ACTION_LIMIT

    def _more(self, view: BandView, ink: Role) -> None:
        others = len(view.chips) + view.more
        if self.layout.small:
            self.more.put(f"+{others}" if others else "", role=ink)
        else:
            self.more.put(f"and {view.more} more" if view.more else "", role=ink)

    # -- the right end -----------------------------------------------------------------------------

    def _quiet(self, view: BandView, ground: Role, ink: Role) -> None:
        x, y, w, h = self.plate_box
        kind = view.quieting
        can = kind is Quieting.CAN_QUIET
        self.plate.put(*((round_frame(x, y, w, h, 12, 4),) if can else ()), role=ink)
        calm = view.level is None and kind in (Quieting.SOUND_ON, Quieting.UNKNOWN)
        role = Role.SOFT if calm else ink
        words = {
            Quieting.SOUND_ON: "sound on",
            Quieting.QUIETED: self._left(view.quiet_left_s),
            Quieting.LOOKS_OFF: "look off",
            Quieting.NO_SOUND: "" if view.headline == SOUNDLESS else "no sound",  # said once
            Quieting.CAN_QUIET: "",
            Quieting.UNKNOWN: "sound ?",
        }
        self.quiet_big.put("Quiet" if can else "", role=role)
        self.quiet_small.put(words[kind], role=role)
        silent = kind in (Quieting.QUIETED, Quieting.NO_SOUND)
        middle, top = x + w / 2, y + 12
        if kind is Quieting.LOOKS_OFF:
            self.speaker.put("sound", middle - 66, top, 56, role)
            self.look_sign.put("look", middle + 14, top + 2, 52, role, hole=ground)
            self.slash.put(line(middle + 8, top + 56, middle + 70, top, 8), role=role)
            return
        self.look_sign.put("")
        self.slash.put()
        glyph = "" if kind is Quieting.UNKNOWN else "quiet" if silent else "sound"
        self.speaker.put(glyph, middle - 26, top, 58, role)

    @staticmethod
    def _left(seconds: float | None) -> str:
        if seconds is None:
            return "quiet"
        if seconds < 60:
            return f"{ceil(seconds)} s"
        minutes = ceil(seconds / 60)
        return f"{minutes} min" if minutes < 100 else f"{minutes // 60} h"
