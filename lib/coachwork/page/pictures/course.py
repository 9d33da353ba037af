"""The picture of a class: which outcomes stand low, which slips were met by most."""

import textwrap

from coachwork.page.pictures import COLOURS, PIXELS, png, styled

MOST = 8  # slips shown
WIDE = 96  # characters of a line beside a bar


def stumbles(outcomes, slips, learners):
    """Where a class stumbles, as PNG bytes and in words.

    Parameters
    ----------
    outcomes : rows with `outcome` ("01.3"), `first tries` and `right [%]` (None where nobody tried)
    slips : rows with `lesson`, `question`, `slip, and what the learner was told` and `learners`, the most met first
    learners : how many took part
    """
    import numpy
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure

    lessons = sorted({row["outcome"].partition(".")[0] for row in outcomes})
    shares = {tuple(row["outcome"].split(".")): row["right [%]"] for row in outcomes}
    most = max(int(outcome) for _, outcome in shares)
    grid = numpy.full((len(lessons), most), numpy.nan)
    for (lesson, outcome), share in shares.items():
        grid[lessons.index(lesson), int(outcome) - 1] = numpy.nan if share is None else share
    shown = slips[:MOST]
    with styled():
        fig = Figure((10, 0.36 * len(lessons) + 1.3 + 0.74 * max(len(shown), 1) + 0.9), dpi=PIXELS)
        canvas = FigureCanvasAgg(fig)
        table, bars = fig.subplots(2, 1, height_ratios=(0.36 * len(lessons) + 1, 0.74 * max(len(shown), 1) + 0.6))
        table.imshow(grid, cmap=_paper_to_vermilion(), vmin=0, vmax=100, aspect="auto")
        for at, lesson in enumerate(lessons):
            for outcome in range(1, most + 1):
                if (lesson, str(outcome)) in shares:
                    share = shares[lesson, str(outcome)]
                    table.text(outcome - 1, at, "no try" if share is None else f"{share} %", ha="center", va="center")
        table.set(xticks=range(most), yticks=range(len(lessons)), xlabel="Outcome of the lesson", ylabel="Lesson")
        table.set_xticklabels(range(1, most + 1))
        table.set_yticklabels(lessons)
        table.set_title("First tries that were right (the darker, the fewer)")
        table.grid(False)
        table.tick_params(length=0)
        bars.barh(range(len(shown)), [row["learners"] for row in shown], height=0.3, color=COLOURS["blue"])
        for at, row in enumerate(shown):
            said = f"{row['lesson']}, question {row['question']}: {row['slip, and what the learner was told']}"
            lines = textwrap.wrap(said, WIDE, max_lines=2, placeholder=" …")
            bars.text(0, at - 0.2, "\n".join(lines), va="bottom", ha="left", fontsize=11, parse_math=False)
        top = max([row["learners"] for row in shown], default=1)
        bars.set(ylim=(len(shown) - 0.6, -0.9), yticks=[], xlim=(0, max(learners, top)), xlabel="Learners who met it")
        bars.set_title("Slips that most learners met" if shown else "No slip was met")
        bars.spines["left"].set_visible(True)
        bars.xaxis.get_major_locator().set_params(integer=True)
        bars.grid(axis="y", visible=False)
        canvas.draw()
        return png(numpy.asarray(canvas.buffer_rgba())), _words(outcomes, shown, learners)


def _paper_to_vermilion():
    """White where all were right, the warm end at half its strength where none was: black text stands on either."""
    from matplotlib.colors import LinearSegmentedColormap

    return LinearSegmentedColormap.from_list("right", ["#F0A670", "#ffffff"])


def _words(outcomes, slips, learners):
    """The picture in words."""
    tried = [row for row in outcomes if row["first tries"]]
    low = sorted(tried, key=lambda row: row["right [%]"])[:5]
    said = f"A class of {learners}. Share of first tries that were right, for each of {len(outcomes)} outcomes"
    if not tried:
        return f"{said}: nobody tried yet."
    mean = sum(row["right [%]"] * row["first tries"] for row in tried) / sum(row["first tries"] for row in tried)
    said += f": {mean:.0f} % over all; lowest " + ", ".join(f"{row['outcome']} ({row['right [%]']} %)" for row in low)
    if not slips:
        return said + ". No slip was met."
    met = "; ".join(f"lesson {row['lesson']}, question {row['question']}, by {row['learners']}: "
                    f"{row['slip, and what the learner was told']}" for row in slips)  # fmt: skip
    return f"{said}. Bars show the slips that most learners met: {met}"
