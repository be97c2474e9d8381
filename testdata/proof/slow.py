"""A second, slow way to the answers, on voxels: inside by parity of crossings along z,
a forward flood over the pieces of each layer, a layer sweep for closed cups. Nothing
is shared with the program but the meshes. numpy and scipy.ndimage.

    slow.py < job.json > answer.json

Lattices stand at odd fractions of a cell, so that no ray meets an edge or a corner.
"""
import json
import sys
from collections import deque
from multiprocessing import Pool

import numpy as np
from scipy import ndimage

ODD = np.array([0.3719, 0.6173, 0.1357])
LAYERS = np.zeros((3, 3, 3), bool)  # neighbours within a layer only
LAYERS[1, :, 1] = LAYERS[:, 1, 1] = True


def load(path):
    data = open(path, "rb").read()
    n = int.from_bytes(data[80:84], "little")
    rec = np.frombuffer(data, np.dtype([("n", "<3f4"), ("v", "<9f4"), ("a", "<u2")]), n, 84)
    return rec["v"].astype(float).reshape(n, 3, 3)


def frame(up):
    """Rows: two level directions, then up."""
    z = np.array(up, float) / np.linalg.norm(up)
    x = np.eye(3)[np.argmin(np.abs(z))]
    x = x - z * x.dot(z)
    x /= np.linalg.norm(x)
    return np.array([x, np.cross(z, x), z])


class Grid:
    """Cell centres origin + h (i, j, k) in a turned frame around some triangles."""

    def __init__(self, points, h, shift, pad=2):
        self.h = h
        self.origin = points.min(axis=0) - h * (pad + ODD + np.array(shift))
        self.shape = tuple(np.ceil((points.max(axis=0) - self.origin) / h).astype(int) + pad + 1)

    def centres(self, axis):
        return self.origin[axis] + self.h * np.arange(self.shape[axis])

    def inside(self, tris):
        """Odd number of crossings below the centre."""
        nx, ny, nz = self.shape
        flips = np.zeros((nx, ny, nz + 1), bool)
        xs, ys = self.centres(0), self.centres(1)
        lo = np.ceil((tris.min(axis=1) - self.origin) / self.h).astype(int)
        hi = np.floor((tris.max(axis=1) - self.origin) / self.h).astype(int)
        for t, a, b in zip(tris, lo, hi):
            if a[0] > b[0] or a[1] > b[1]:
                continue
            x = xs[a[0]:b[0] + 1, None]
            y = ys[None, a[1]:b[1] + 1]
            p, q, r = t
            e = [(v[0] - u[0]) * (y - u[1]) - (v[1] - u[1]) * (x - u[0]) for u, v in ((q, r), (r, p), (p, q))]
            twice = e[0] + e[1] + e[2]
            hit = ((e[0] > 0) & (e[1] > 0) & (e[2] > 0)) | ((e[0] < 0) & (e[1] < 0) & (e[2] < 0))
            i, j = np.nonzero(hit)
            if len(i) == 0:
                continue
            z = (e[0][i, j] * p[2] + e[1][i, j] * q[2] + e[2][i, j] * r[2]) / twice[i, j]
            k = np.clip(np.ceil((z - self.origin[2]) / self.h).astype(int), 0, nz)
            flips[i + a[0], j + a[1], k] ^= True
        return np.logical_xor.accumulate(flips, axis=2)[:, :, :nz]


def beside(mask):
    """Cells with a neighbour in the mask across a face."""
    return ndimage.binary_dilation(mask)


class Pieces:
    """The pieces of every layer of a mask, and which of them lie on each other."""

    def __init__(self, mask):
        self.label, self.n = ndimage.label(mask, LAYERS)
        below, over = self.label[:, :, :-1], self.label[:, :, 1:]
        both = (below > 0) & (over > 0)
        pairs = np.unique(below[both].astype(np.int64) * (self.n + 1) + over[both])
        self.links = [[] for _ in range(self.n + 1)]
        for a, b in zip((pairs // (self.n + 1)).tolist(), (pairs % (self.n + 1)).tolist()):
            self.links[a].append(b)
            self.links[b].append(a)
        self.z = np.zeros(self.n + 1, int)
        z = np.broadcast_to(np.arange(mask.shape[2]), mask.shape)
        self.z[self.label.ravel()] = z.ravel()

    def touching(self, mask):
        return set(np.unique(self.label[mask])) - {0}

    def cells(self, mask=None):
        if mask is None:
            return np.bincount(self.label.ravel(), minlength=self.n + 1)
        return np.bincount(self.label[mask], minlength=self.n + 1)


def flood(job):
    """Air that stays inside the part, mm3, and its free surface, mm2: the resin takes the lowest layer that it can
    reach without passing above its level; air without a way out is taken out for good."""
    turn = frame(job["up"])
    part, halves = load(job["part"]), [load(p) for p in job["halves"]]
    everything = np.concatenate(halves).reshape(-1, 3)
    grid = Grid(everything @ turn.T, job["cell"], job["shift"])
    solid = np.zeros(grid.shape, bool)
    for h in halves:
        solid |= grid.inside(h @ turn.T)
    in_part = grid.inside(part @ turn.T) & ~solid
    axes = [grid.centres(k) for k in range(3)]
    block = np.ones(grid.shape, bool)
    for k in range(3):  # of the unturned block's box
        c = (turn[0][k] * axes[0][:, None, None] + turn[1][k] * axes[1][None, :, None] + turn[2][k] * axes[2][None, None, :])
        block &= (c > everything[:, k].min()) & (c < everything[:, k].max())
    outside = ~solid & ~block
    channel, _ = ndimage.label(~solid & block & ~in_part)
    gate = turn @ np.array(job["gate"])
    where = np.argwhere(channel > 0)
    size = np.bincount(channel.ravel())
    where = where[size[channel[tuple(where.T)]] > 20]
    near = where[np.argmin((((where * grid.h + grid.origin) - gate) ** 2).sum(axis=1))]
    full = channel == channel[tuple(near)]
    air = Pieces(~solid & block & ~full)
    source = air.touching(beside(full) & in_part)
    exits = air.touching(beside(outside) & ~full)
    liquid, gone = np.zeros(air.n + 1, bool), np.zeros(air.n + 1, bool)

    def cut_off():
        seen = np.zeros(air.n + 1, bool)
        queue = deque(i for i in exits if not liquid[i])
        seen[list(queue)] = True
        while queue:
            for j in air.links[queue.popleft()]:
                if not seen[j] and not liquid[j]:
                    seen[j] = True
                    queue.append(j)
        return ~seen & ~liquid

    level = min(air.z[i] for i in source)
    gone = cut_off()
    while level < grid.shape[2]:
        seen = np.zeros(air.n + 1, bool)
        queue = deque(i for i in source if air.z[i] <= level and not gone[i])
        seen[list(queue)] = True
        while queue:
            for j in air.links[queue.popleft()]:
                if not seen[j] and not gone[j] and air.z[j] <= level:
                    seen[j] = True
                    queue.append(j)
        dry = seen & ~liquid
        if not dry.any():
            level += 1
            continue
        lowest = air.z[dry].min()
        liquid |= dry & (air.z == lowest)
        gone |= cut_off()
    gone[0] = False
    kept, wet = gone[air.label] & in_part, liquid[air.label]
    surface = (kept[:, :, 1:] & wet[:, :, :-1]).sum() * grid.h ** 2
    return [float(kept.sum() * grid.h ** 3), float(surface)]


def sweep(job):
    """Closed cups of a half that grows along build, on supports: largest area, volume,
    from, to, and how much the area grew in the last layer."""
    turn = frame(job["build"])
    tris = load(job["half"]) @ turn.T
    grid = Grid(tris.reshape(-1, 3), job["cell"], job["shift"])
    pieces = Pieces(~grid.inside(tris))
    rim = np.ones(grid.shape, bool)
    rim[1:-1, 1:-1, 1:] = False
    outer = pieces.touching(rim)
    cells = pieces.cells()
    area = grid.h ** 2
    foot = tris.reshape(-1, 3)[:, 2].min()
    parent = list(range(pieces.n + 1))

    def root(i):
        while parent[i] != i:
            parent[i] = parent[parent[i]]
            i = parent[i]
        return i

    cup = {}  # root: [largest area, volume, lowest layer, growth in the last one]
    done = []
    free = {i: i in outer for i in range(1, pieces.n + 1)}
    order = np.argsort(pieces.z[1:], kind="stable") + 1
    start = 0
    while start < len(order):
        z = pieces.z[order[start]]
        end = start
        while end < len(order) and pieces.z[order[end]] == z:
            end += 1
        layer = order[start:end]
        for i in layer:
            for j in pieces.links[i]:
                if pieces.z[j] < z:
                    a, b = root(i), root(j)
                    if a == b:
                        continue
                    parent[b] = a
                    free[a] = free[a] or free[b]
                    mine, other = cup.pop(a, None), cup.pop(b, None)
                    both = [c for c in (mine, other) if c]
                    if both:
                        # Cups that end in one layer may have joined within it, the smaller growing the larger.
                        most, whole = max(c[0] for c in both), sum(c[0] for c in both)
                        cup[a] = [most, sum(c[1] for c in both), min(c[2] for c in both), max(c[3] for c in both) + whole - most]
        now = {}
        for i in layer:
            now[root(i)] = now.get(root(i), 0) + cells[i]
        for r, n in now.items():
            if free[r]:
                if r in cup:
                    done.append(cup.pop(r) + [z])  # the rim is broken
                continue
            c = cup.setdefault(r, [0.0, 0.0, z, 0.0])
            c[3] = abs(n * area - c[0])
            c[0] = max(c[0], n * area)
            c[1] += n * area * grid.h
        start = end

    def height(k):
        return float(grid.origin[2] + (k - 0.5) * grid.h - foot)
    return [[a, v, height(lo), height(hi), grew] for a, v, lo, grew, hi in done if a > 20]


def main():
    jobs = json.load(sys.stdin)
    with Pool(2) as pool:
        json.dump(pool.map(run, jobs, chunksize=1), sys.stdout)


def run(job):
    return {"flood": flood, "sweep": sweep}[job["task"]](job)


if __name__ == "__main__":
    main()
