"""Patches: parallelograms on the plane of the tops, far finer than the photo's pixels, and the exact mean of what is seen in them.

Sample (column i, row j) lies at origin + i a + j b.  Between two samples of a row that end on the same face light changes
evenly; between two that end on different faces the places where the first face ends and the second begins are found by
search, so that a rim lies where it lies and not at the next sample.
"""
import numpy as np

QUARTERINGS = 6   # of a sample's distance: a rim is right within 1/4000 of it
ASIDE = 0.02      # light beside a face's end is looked at so far from it: right at the end a sight line may graze a whole wall


class Patch:
    def __init__(self, origin, a, b, columns, rows, scene=None, box=(1, 1)):
        """box: (columns, rows) of samples over which a mean is taken: the area of one sub-pixel of the photo."""
        self.origin, self.a, self.b = np.array(origin, float), np.array(a, float), np.array(b, float)
        self.columns, self.rows, self.scene, self.box = int(columns), int(rows), scene, box
        self.light = None

    def places(self, column, row):
        return (self.origin[0] + column * self.a[0] + row * self.b[0], self.origin[1] + column * self.a[1] + row * self.b[1])

    def render(self):
        """Fills light: (rows, columns, 3)."""
        row, column = (v.ravel() for v in np.mgrid[0:self.rows, 0:self.columns])
        hits, light = self.scene.look(*self.places(column, row))
        light = light.reshape(self.rows, self.columns, 3)
        label = hits.label().reshape(self.rows, self.columns)
        cells = (light[:, :-1] + light[:, 1:]) / 2
        self.mend(cells, light, label)
        self.light = self.mean(cells).astype(np.float32)
        self.rows, self.columns = self.light.shape[:2]

    def mend(self, cells, light, label):
        """The mean of every cell whose ends differ: the first face up to its end, what lies between (Simpson's rule), the second."""
        row, column = np.nonzero(label[:, :-1] != label[:, 1:])
        if not len(row):
            return
        second = label[row, column + 1]
        (last, after), (end, start) = self.ends(row, column, label[row, column], second)
        into = np.minimum(ASIDE, np.maximum(end - after, 0) / 4)
        at = np.concatenate([last - np.minimum(ASIDE, last / 2), after + into, (after + end) / 2, end - into,
                             start + np.minimum(ASIDE, (1 - start) / 2)])
        column, row = np.tile(column, 5), np.tile(row, 5)
        hits, found = self.scene.look(*self.places(column + at, row))
        at_last, at_after, at_middle, at_end, at_start = found.reshape(5, len(second), 3)
        row, column = row[:len(second)], column[:len(second)]
        apart = end > after  # else the second begins where the first ends
        gap = np.where(apart, np.maximum(start - last, 0), 0)[:, None]
        last = last[:, None]
        cells[row, column] = (last * (light[row, column] + at_last) / 2 + gap * (at_after + 4 * at_middle + at_end) / 6
                              + (1 - last - gap) * (at_start + light[row, column + 1]) / 2)

    def ends(self, row, column, first, second):
        """Shares of cells between which the first face ends, and between which the second begins: ((low, high), (low, high)).  The
        second mostly begins where the first ends."""
        low, high = self.split(row, column, lambda label, k: label == first[k])
        after = self.scene.look_label(*self.places(column + high, row))
        rest = np.flatnonzero(after != second)
        begin, start = low.copy(), high.copy()
        if len(rest):
            begin[rest], start[rest] = self.split(row[rest], column[rest], lambda label, k: label != second[rest][k])
        return (low, high), (begin, start)

    def split(self, row, column, still):
        """Shares of cells up to which `still` holds and from which on it does not, QUARTERINGS times closer."""
        n = len(row)
        low, width = np.zeros(n), 1.0
        k, part = np.tile(np.arange(n), 3), np.repeat([1, 2, 3], n)
        for _ in range(QUARTERINGS):
            width /= 4
            label = self.scene.look_label(*self.places(column[k] + low[k] + part * width, row[k]))
            holds = still(label, k).reshape(3, n)
            low = low + width * np.minimum.accumulate(holds, axis=0).sum(axis=0)
        return low, low + width

    def mean(self, cells):
        """Running mean over the box; moves the origin to the first box's middle."""
        n, m = self.box
        total = np.concatenate([np.zeros_like(cells[:, :1]), np.cumsum(cells, axis=1)], axis=1)
        out = (total[:, n:] - total[:, :-n]) / n
        if m > 1:
            total = np.concatenate([np.zeros_like(out[:1]), np.cumsum(out, axis=0)])
            out = (total[m:] - total[:-m]) / m
        self.origin = self.origin + self.a * n / 2 + self.b * (m - 1) / 2
        return out
