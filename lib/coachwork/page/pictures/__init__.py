"""Pictures of the lessons: what a bench shows. One module a topic; this one holds what they share.

A picture is a class of its own::

    class LoadDay(Picture):
        title = "Energy of one load"

        def build(self, fig):                               # once: axes, ticks, artists
            ax = fig.add_subplot(ylim=(0, 600), ylabel="Power in W")
            (self.line,) = ax.plot(HOURS, numpy.zeros(24))
            self.moving = [self.line]                       # what `update` changes

        def update(self, power, hours):                     # at each move: floats in the slider's unit
            self.line.set_ydata(...)
            return f"It takes {show(...)} a day.", "Line of power over the day, 60 W from 18:00 to 21:00."

`update` returns the result in words (three lines, 220 characters at most, have room below the picture), and
words that describe the picture with its numbers for whoever does not see it. Keep limits fixed, so that the
eye can compare and a move stays quick; where they must change let them change in few steps, by `limits`. Text
costs more than anything else: let the words say the result and leave the picture's text alone.
"""

import functools
import struct
import zlib
from pathlib import Path

import numpy

STYLE = Path(__file__).parents[1] / "coachwork.mplstyle"
PIXELS = 96  # CSS pixels to the inch
MOST_KEPT = 12  # backgrounds of one picture, 1 to 5 MB each

# Okabe and Ito, Color Universal Design (2008): apart for every kind of colour vision, and in grey by
# the line style or hatch that stands beside each.
COLOURS = {"blue": "#0072B2", "vermilion": "#D55E00", "green": "#009E73", "purple": "#CC79A7",
           "orange": "#E69F00", "sky": "#56B4E9", "yellow": "#F0E442", "black": "#000000"}  # fmt: skip
HATCHES = ("", "//", "..", "\\\\", "xx", "--", "oo")


class Picture:
    """What a bench shows; see the module's text for how to write one.

    size : width and height in inches, 96 CSS pixels each. title : name of the picture.
    moving : artists that `update` changes; everything else is drawn once and kept.
    """

    size = (8, 4)
    title = ""
    moving = ()

    def build(self, fig):
        """Make axes and artists on a matplotlib Figure, once, and name the changing ones in `self.moving`."""
        raise NotImplementedError

    def update(self, **settings):
        """Change the moving artists; return the result in words and the picture in words."""
        raise NotImplementedError

    @staticmethod
    def limits(axes, x=None, y=None):
        """Set limits so that the background of limits seen before is used again."""
        figure = axes.get_figure()
        stale = figure.stale
        if x is not None:
            axes.set_xlim(x)
        if y is not None:
            axes.set_ylim(y)
        figure.stale = stale  # nothing else has changed, and the sheet knows a background by its limits


@functools.cache
def _style():
    import matplotlib

    return matplotlib.rc_params_from_file(STYLE, use_default_template=False)


def styled():
    """The workbook's matplotlib style, as a context."""
    import matplotlib

    return matplotlib.rc_context(_style())


class Sheet:
    """A picture on paper: builds it once, then draws it quickly.

    Axes, ticks, grid and all fixed text are a kept background. A move redraws the moving artists, and what
    lies over them: lines such as the axes' edge are drawn again, text and legends pasted as they were drawn
    once (text is what costs). The pixels are those of a full redraw; pasted text differs by at most one
    grey level. A background belongs to its limits; anything else that changes (ticks, a label, the size)
    makes matplotlib call the figure stale, and then backgrounds are drawn anew.
    """

    def __init__(self, picture, ratio=1.0):
        from matplotlib.backends.backend_agg import FigureCanvasAgg
        from matplotlib.figure import Figure

        self.picture, self.ratio = picture, ratio
        self.kept = {}  # limits of all axes: their background, and the functions that put the rest over it
        with styled():
            self.figure = Figure(picture.size, dpi=PIXELS * ratio + 1e-6)  # a whole pixel must not be lost
            self.canvas = FigureCanvasAgg(self.figure)
            picture.build(self.figure)
        # Room for labels is found when the background is drawn, never between moves.
        self.layout = self.figure.get_layout_engine()
        self.figure.set_layout_engine("none")

    def update(self, **settings):
        """Bring the artists to the settings; returns (words, alt)."""
        return self.picture.update(**settings)

    def pixels(self):
        """The picture as it stands: an array (height, width, 4) that the next drawing overwrites."""
        if self.figure.stale or len(self.kept) > MOST_KEPT:
            self.kept.clear()
        limits = tuple(axes.viewLim.bounds for axes in self.figure.axes)
        if limits not in self.kept:
            self.kept[limits] = self._draw_background()
        background, layers = self.kept[limits]
        renderer = self.canvas.get_renderer()
        self.canvas.restore_region(background)
        for layer in layers:
            layer(renderer)
        return numpy.asarray(self.canvas.buffer_rgba())

    def full_pixels(self):
        """The same picture with nothing kept: every artist in matplotlib's own order."""
        for artist in self.figure.findobj():
            artist.set_animated(False)
        self.kept.clear()
        with styled():
            self.canvas.draw()
        return numpy.array(self.canvas.buffer_rgba())

    def png(self, draft=False):
        """The picture as PNG bytes. draft : with half the pixels each way, a quarter of the work for the browser."""
        return png(halved(self.pixels()) if draft else self.pixels())

    def _draw_background(self):
        with styled():
            if not self.kept:
                self._lay_out()
            layers = self._draw_kept()
            if self.layout and not self._fits():
                self.kept.clear()  # the axes' places change for all
                self._lay_out()
                layers = self._draw_kept()
        self.figure.stale = False
        return self.canvas.copy_from_bbox(self.figure.bbox), layers

    def _lay_out(self):
        """Find room for the labels. As dear as a drawing, so a new limit alone does not bring it about."""
        if self.layout:
            self.figure.set_layout_engine(self.layout)
            for _ in range(2):  # the first round finds the room, the second settles
                self.layout.execute(self.figure)
            self.figure.set_layout_engine("none")

    def _fits(self):
        """Whether the axes' labels, which move with the ticks, lie on the paper and clear of other axes."""
        renderer, paper = self.canvas.get_renderer(), self.figure.bbox
        for axes in self.figure.axes:
            others = [one.bbox for one in self.figure.axes if one.bbox.bounds != axes.bbox.bounds]
            for axis in (axes.xaxis, axes.yaxis):
                label = axis.label.get_window_extent(renderer)
                if axis.label.get_text() and (
                    label.x0 < 0 or label.y0 < 0 or label.x1 > paper.x1 or label.y1 > paper.y1
                    or any(label.overlaps(other) for other in others)
                ):  # fmt: skip
                    return False
        return True

    def _draw_kept(self):
        """Draw all that is not live; returns the functions that put the live artists over it, in order."""
        renderer = self.canvas.get_renderer()
        live = [artist for axes in [*self.figure.axes, None] for artist in self._over(axes, renderer)]
        for artist in self.figure.findobj():
            artist.set_animated(False)
        for artist in live:
            artist.set_animated(True)
        layers = [self._layer(artist, renderer) for artist in live]
        self.canvas.draw()
        return layers

    def _over(self, axes, renderer):
        """The moving artists of some axes (or of the figure itself) and what is drawn over them, in order."""
        if axes is None:
            drawn = [*self.figure.artists, *self.figure.lines, *self.figure.patches, *self.figure.texts]
        else:
            drawn = [child for child in axes.get_children() if child is not axes.patch]
        drawn = sorted(drawn, key=lambda one: one.get_zorder())
        moving = [one in self.picture.moving for one in drawn]
        first = moving.index(True) if True in moving else len(drawn)
        box = self.figure.bbox if axes is None else axes.bbox.padded(1)
        return [one for one, moves in zip(drawn[first:], moving[first:])
                if moves or one.get_visible() and one.get_window_extent(renderer).overlaps(box)]  # fmt: skip

    def _layer(self, artist, renderer):
        """A function that puts one artist on the paper."""
        from matplotlib.legend import Legend
        from matplotlib.text import Text

        if artist in self.picture.moving or not isinstance(artist, (Text, Legend)):
            return artist.draw
        renderer.clear()
        artist.draw(renderer)
        left, bottom, right, top = (round(edge) for edge in artist.get_window_extent(renderer).padded(2).extents)
        left, bottom = max(left, 0), max(bottom, 0)
        stamp = numpy.array(self.canvas.buffer_rgba())[::-1][bottom:top, left:right].copy()
        return lambda renderer: renderer.draw_image(renderer.new_gc(), left, bottom, stamp)


def halved(pixels):
    """RGBA pixels with half the height and width, each the mean of four (within one grey level: halves are cut off)."""
    height, width = (size // 2 * 2 for size in pixels.shape[:2])
    whole = numpy.ascontiguousarray(pixels[:height, :width]).view(numpy.uint32)[..., 0]  # four channels at a stroke

    def mean(one, other):
        apart = one ^ other  # in place: each new array of this size costs as much as the arithmetic
        apart &= 0xFEFEFEFE
        apart >>= 1
        apart += one & other
        return apart

    rows = mean(whole[::2], whole[1::2])
    return numpy.ascontiguousarray(mean(rows[:, ::2], rows[:, 1::2]))[..., None].view(numpy.uint8)


def png(pixels):
    """RGBA pixels to a PNG: RGB, no filter, quickest compression. On a local line time counts, not size."""
    height, width = pixels.shape[:2]
    rows = numpy.zeros((height, 1 + 3 * width), numpy.uint8)  # each begins with a 0: no filter
    rgb = numpy.ndarray((height, width, 3), numpy.uint8, rows, 1, (1 + 3 * width, 3, 1))
    for channel in range(3):  # five times as fast as all three at once
        rgb[..., channel] = pixels[..., channel]

    def chunk(kind, data):
        return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))

    header = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    return b"".join((b"\x89PNG\r\n\x1a\n", chunk(b"IHDR", header), chunk(b"IDAT", zlib.compress(rows, 1)),
                     chunk(b"IEND", b"")))  # fmt: skip


def still(picture, ratio=2.0, **settings):
    """One picture as PNG bytes, for print."""
    sheet = Sheet(picture, ratio)
    sheet.update(**settings)
    return sheet.png()
