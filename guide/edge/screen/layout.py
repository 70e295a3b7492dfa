"""The bench screen as rows: (scene, size, charset) in, styled text out. No terminal is needed to try it.

From the top: job and time; power in words and what goes on; the next check in large letters and in full; last reading,
odds and tables; the talk; what the question takes; keys. The line that is typed stands below all of this.
"""

from __future__ import annotations

from typing import NamedTuple

from guide.core.durations import duration
from guide.core.jobs.concluding import MOST_NAMED
from guide.core.jobs.job import Job
from guide.core.jobs.phases import Phase
from guide.core.jobs.questions import Message, enter_means, question
from guide.core.jobs.wording import about, cause_say, device_of
from guide.core.odds.costs import minutes
from guide.core.tree import Power, in_words
from guide.edge.screen import panels
from guide.edge.screen.cells import (
    Charset,
    Row,
    beside,
    cells,
    fitted,
    length,
    right_aligned,
    row,
    shortened,
    tall,
    wrapped,
)
from guide.edge.screen.facts import (
    POWER_WORDS,
    headline,
    last_reading,
    odds_of,
    probes_of,
    progress,
    table_of_readings,
)
from guide.edge.screen.keys import keys_shown
from guide.edge.screen.letters import Face, large, large_lines
from guide.edge.screen.scene import Doing, Scene

NEED_COLUMNS, NEED_ROWS = 72, 20  # the typed line included
WIDE, TALL, VERY_TALL = 120, 34, 48
MOST_LARGE_LINES = 3
LEAST_TALK = 3  # a heading and two rows of it
LEAST_UPPER = 3  # a heading and two rows stay of reading and odds, however long the talk
LARGE_VALUE_ROWS = 20  # a column this high shows the last value large
_POWER_STYLES = {Power.OFF: "class:power.off", Power.ON: "class:power.on", Power.UNKNOWN: "class:power.unknown"}
_POWER_MARKS = {Power.OFF: (" ○ ", " o "), Power.ON: (" ▲ ", " ! "), Power.UNKNOWN: (" ? ", " ? ")}
_DOING_MARKS = {
    Doing.KEYS: ("_", "_"), Doing.LISTENING: ("●", "(o)"), Doing.SPEAKING: ("»", ">>"), Doing.THINKING: ("…", "..."),
    Doing.METER: ("~", "~"), Doing.EAR_OPEN: ("●", "(o)"), Doing.EAR_SHUT: ("○", "( )"),
    Doing.SPEAKING_OVER: ("»", ">>"),
}  # fmt: skip


class Size(NamedTuple):
    """Columns and rows of the terminal, the typed line included."""

    columns: int
    rows: int

    @property
    def enough(self) -> bool:
        return self.columns >= NEED_COLUMNS and self.rows >= NEED_ROWS


def layout(scene: Scene, size: Size, charset: Charset = Charset.UTF8) -> list[Row]:
    """Return the rows above the typed line: `size.rows` - 1 of them, each `size.columns` cells wide."""
    width, height = size.columns, size.rows - 1
    if not size.enough:
        return _too_small(scene, size, charset)
    standing = question(scene.job) or {}
    head = [_header(scene, width, charset), _status(scene, width, charset)]
    foot = [*_answers(standing, width, charset), *_keys(standing, width)]
    body = _check_rows(scene.job, standing, size, charset)
    room = height - len(head) - len(foot)
    body = body[: max(1, room - 7)]
    middle = _middle(scene, standing, width, room - len(body), charset)
    return [fitted(r, width) for r in (*head, *body, *middle, *foot)]


def size_wanted(size: Size) -> str:
    """Return in words what the screen needs, where this size is too small."""
    return f"The bench screen needs {NEED_COLUMNS} x {NEED_ROWS}; this is {size.columns} x {size.rows}."


def _too_small(scene: Scene, size: Size, charset: Charset) -> list[Row]:
    """Lines go on in whatever room there is: what is needed, the talk, the question, and what it takes."""
    width, height = max(1, size.columns), max(0, size.rows - 1)
    standing = question(scene.job) or {}
    notice = [row(("class:muted", line)) for line in wrapped(size_wanted(size), width)]
    asked = charset.text(f"[{POWER_WORDS[scene.job.power]}] {standing.get('say', '')}")
    ask = [row(("class:ask", line)) for line in wrapped(asked, width)]
    takes = [row(line) for line in wrapped(charset.text(_takes(standing)), width)]
    must = [*ask, *takes][:height]
    talk = panels.talk_rows(scene.talk, width, height - len(must) - len(notice), charset)
    rows = [*notice[: max(0, height - len(must))], *talk, *must]
    return tall(rows, width, height)


def _header(scene: Scene, width: int, charset: Charset) -> Row:
    job = scene.job
    left = " " + charset.text(f"Job {job.id or '-'}, {device_of(job) or about(job)}")
    right = row(("class:head", f"  {progress(job)}   {scene.clock} "))
    room = max(0, width - length(right))
    head = row(("class:head", panels.fitted_text(shortened(left, room, charset), room)))
    return right_aligned(head, right, width)


def _status(scene: Scene, width: int, charset: Charset) -> Row:
    power = scene.job.power
    badge = f"{charset.pick(*_POWER_MARKS[power])}{POWER_WORDS[power]} "
    mark = charset.pick(*_DOING_MARKS[scene.doing])
    meter = charset.text(f"meter: {scene.meter}") if scene.meter else ""
    left = row((_POWER_STYLES[power], badge), "  ", ("class:doing", f"{mark} {scene.doing.value}"))
    room = width - length(left) - 2
    return right_aligned(left, row(("class:muted", f" {shortened(meter, room, charset)} ")), width)


def _check_rows(job: Job, standing: Message, size: Size, charset: Charset) -> list[Row]:
    """The next check: large letters, the question in full, and where the leads go."""
    width = size.columns
    style = "class:caution" if standing.get("type") == "caution" or job.handed_over_for else "class:large"
    many = len(standing.get("options", ())) > MOST_NAMED  # the room is for them
    rows = [row(" ", (style, line)) for line in ([] if many else _large(job, size, charset))]
    tags = charset.text(_tags(job, standing, in_full=True))
    if cells(tags) > width - 2:
        tags = charset.text(_tags(job, standing, in_full=False))
    if tags:
        rows.append(row(" ", ("class:tag", shortened(tags, width - 2, charset))))
    say = charset.text(str(standing.get("say") or "This job is closed."))
    if standing.get("type") == "verdict":
        cause = charset.text(cause_say(job, str(standing["cause"])))
        rows += [row(" ", ("class:value", line)) for line in _sentence(cause, size, charset) or ()]
    from_afar = _sentence(say, size, charset) if standing.get("type") in ("ask", "caution") else None
    if from_afar:
        return [*rows, row(), *(row(" ", ("class:ask", line)) for line in from_afar)]
    return [*rows, *(row(" ", ("class:ask", line)) for line in wrapped(say, width - 2))]


def _sentence(say: str, size: Size, charset: Charset) -> list[str] | None:
    """The question itself in large letters, on a terminal with room to spare."""
    if charset is Charset.ASCII or size.rows < VERY_TALL:
        return None
    return large_lines(say, Face.SMALL, size.columns - 2, MOST_LARGE_LINES)


def _large(job: Job, size: Size, charset: Charset) -> list[str]:
    head, width = headline(job), size.columns - 2
    what, where = (charset.text(t) for t in (head.what, head.where))
    tall_enough = size.rows >= TALL
    faces = (Face.SIGNS,) if charset is Charset.ASCII else (Face.LARGE, Face.SMALL) if tall_enough else (Face.SMALL,)
    for face in faces:
        one = large(f"{what}   {where}" if where else what, face, width)
        if one is not None:
            return list(one)
        first, second = large(what, face, width), large(where, face, width) if where else None
        if tall_enough and first and second:
            return [*first, "", *second]
    # Where both do not fit, the place is what changes from check to check; the mode is in the line below.
    small = large(where or what, faces[-1], width)
    return list(small) if small is not None else [f"{what}  {where}".strip()]


def _tags(job: Job, standing: Message, *, in_full: bool) -> str:
    check = job.check
    kind = standing.get("type")
    if kind == "caution":
        needs = str(standing["power"])
        return f"needs power {needs} before going on" if needs in ("on", "off") and needs != job.power.value else ""
    if kind != "ask" or check is None or job.phase is not Phase.ASKING:
        return ""
    tags = [headline(job).what]
    tags += ["ONCE MORE"] if standing["retake"] else []
    tags += ["PROOF"] if standing.get("proof") else []
    tags += [probes_of(job, check, named_in_full=in_full)] if check.red or check.black else []
    tags += [f"set up: {in_words(job.setup)}"] if job.setup and job.setup in job.tree.setups else []
    return ", ".join([*tags, f"about {duration(minutes(job.tree, check, job.bench))}"])


def _middle(scene: Scene, standing: Message, width: int, height: int, charset: Charset) -> list[Row]:
    """Last reading, odds, table and talk: side by side where there is room, else readings above the talk."""
    gap = row(("class:rule", charset.pick(" │ ", " | ")))
    if width >= WIDE:
        third = (width - 6) // 3
        last = width - 6 - 2 * third
        reading = _reading_panel(scene, third, charset, room=height)
        left = [*reading, *_table_panel(scene, standing, third, height - len(reading), charset)]
        centre = _odds_panel(scene, third, height, charset)
        right = _talk_panel(scene, last, height, charset)
        return beside([(left, third), (centre, third), (right, last)], height, gap)
    half = (width - 3) // 2
    other = width - 3 - half
    upper = min(max(4, height - 4), 6) if height < 16 else height // 2
    # What was asked for is read whole, at the cost of the tables.
    upper = max(LEAST_UPPER, min(upper, height - 1 - panels.newest_rows(scene.talk, width, charset)))
    if standing.get("type") == "repair" and len(panels.option_rows(standing, half, charset)) >= upper:
        chosen_from = _options_panel(standing, width, height - LEAST_TALK, charset)
        return [*chosen_from, *_talk_panel(scene, width, height - len(chosen_from), charset)]
    left = _narrow_left(scene, standing, half, upper, charset)
    pair = beside([(left, half), (_odds_panel(scene, other, upper, charset), other)], upper, gap)
    return [*pair, *_talk_panel(scene, width, height - upper, charset)]


def _narrow_left(scene: Scene, standing: Message, width: int, height: int, charset: Charset) -> list[Row]:
    """What helps most now, in the one column there is: choices and grounds, a walked table, or the last reading."""
    reading = _reading_panel(scene, width, charset)
    if standing.get("type") in ("repair", "verdict"):
        return _table_panel(scene, standing, width, height, charset)
    if scene.job.sweep_checks() and height < 10:
        return [*reading[:2], *_table_panel(scene, standing, width, height - 2, charset)]
    return [*reading, *_table_panel(scene, standing, width, height - len(reading), charset)]


def _reading_panel(scene: Scene, width: int, charset: Charset, *, room: int = 0) -> list[Row]:
    last = last_reading(scene.job)
    shown = large(charset.text(last.value), Face.SMALL, width) if last and room >= LARGE_VALUE_ROWS else None
    face = shown if charset is Charset.UTF8 else None
    rows = panels.reading_rows(last, width, charset)
    return [panels.heading("last reading", width, charset), *(row(("class:value", r)) for r in face or ()), *rows]


def _odds_panel(scene: Scene, width: int, height: int, charset: Charset) -> list[Row]:
    odds = odds_of(scene.job)
    if not odds:
        why = "The board is known to be good" if scene.job.known_good else "The bench was changed by a repair"
        quiet = wrapped(f"{why}: odds of what is wrong would mislead.", width)
        return [panels.heading("odds", width, charset), *(row(("class:muted", line)) for line in quiet)]
    return [panels.heading("odds of the causes", width, charset), *panels.odds_rows(odds, width, height - 1, charset)]


def _table_panel(scene: Scene, standing: Message, width: int, height: int, charset: Charset) -> list[Row]:
    """The evidence of a verdict, the repairs to choose from, or the table of readings in hand."""
    if height < 2:
        return []
    if standing.get("type") == "verdict":
        shared = panels.causes_rows(scene.job, standing.get("causes", ()), width, charset)
        rows = [*shared, *panels.evidence_rows(standing, width, charset)]
        return [panels.heading("what it rests on", width, charset), *rows[: height - 1]]
    if standing.get("type") == "repair" and standing["options"]:
        return _options_panel(standing, width, height, charset)
    title, lines, here = table_of_readings(scene.job)
    rows = panels.table_rows(lines, here, width, height - 1, charset)
    return [panels.heading(charset.text(title), width, charset), *rows] if rows else []


def _options_panel(standing: Message, width: int, height: int, charset: Charset) -> list[Row]:
    """Return the repairs in full, or a row each where that is too much: whoever chooses sees all there is."""
    whole = panels.option_rows(standing, width, charset)
    rows = whole if len(whole) < height else panels.brief_option_rows(standing, width, charset)
    if len(rows) >= height:
        left = len(rows) - max(0, height - 2)
        rows = [*rows[: max(0, height - 2)], row(("class:muted", f"    {left} more: a taller window shows them"))]
    return [panels.heading("repairs", width, charset), *(fitted(one, width) for one in rows)]


def _talk_panel(scene: Scene, width: int, height: int, charset: Charset) -> list[Row]:
    if height < 2:
        return [fitted((), width)] * height
    rows = panels.talk_rows(scene.talk, width, height - 1, charset)
    return tall([panels.heading("heard and said", width, charset), *rows], width, height)


def _takes(standing: Message) -> str:
    unit = [f"a reading in {standing['unit']}"] if standing.get("unit") else []
    return " | ".join([*unit, *(in_words(str(a)) for a in standing.get("answers", ()))])


def _answers(standing: Message, width: int, charset: Charset) -> list[Row]:
    takes = charset.text(_takes(standing)) or "nothing more"
    lines = wrapped(takes, width - 8)[:2]
    return [row(("class:title", " Takes: " if i == 0 else "        "), ("class:takes", line))
            for i, line in enumerate(lines)]  # fmt: skip


def _keys(standing: Message, width: int) -> list[Row]:
    """The keys and what they say now, in as many rows as they need."""
    rows: list[Row] = []
    line: Row = row(" ")
    used = 1
    for key, says in keys_shown(enter_means(standing)):
        wide = cells(key) + cells(says) + 2
        if used + wide > width and used > 1:
            rows.append(line)
            line, used = row(" "), 1
        line = (*line, ("class:key", key), ("", f" {says} "))
        used += wide
    return [*rows, line]
