"""Answers of numpy and scipy to the questions of references_test.go: volume and area by
float sums, connected shells, convex hull, solid-angle winding numbers, the nearest of
many surface samples, rays against all facets, distance transform, least squares.

    reference.py < job.json > answer.json
"""
import json
import sys

import numpy as np
from scipy import ndimage, optimize, sparse, spatial
from scipy.sparse import csgraph

from slow import load


def winding(tris, points):
    """Van Oosterom and Strackee 1983, summed over all facets."""
    out = []
    for p in points:
        a, b, c = (tris[:, k] - p for k in range(3))
        la, lb, lc = (np.linalg.norm(v, axis=1) for v in (a, b, c))
        num = np.einsum("ij,ij->i", a, np.cross(b, c))
        den = la * lb * lc + np.einsum("ij,ij->i", a, b) * lc + np.einsum("ij,ij->i", b, c) * la + np.einsum("ij,ij->i", c, a) * lb
        out.append(float(np.arctan2(num, den).sum() / (2 * np.pi)))
    return out


def rays(tris, starts, ways):
    """First hit of each ray, Moeller and Trumbore 1997; None where it meets nothing."""
    a = tris[:, 0]
    e, f = tris[:, 1] - a, tris[:, 2] - a
    out = []
    for p, d in zip(starts, ways):
        h = np.cross(d, f)
        det = np.einsum("ij,ij->i", e, h)
        with np.errstate(divide="ignore", invalid="ignore"):
            s = p - a
            u = np.einsum("ij,ij->i", s, h) / det
            q = np.cross(s, e)
            v = q @ d / det
            t = np.einsum("ij,ij->i", f, q) / det
            ok = (np.abs(det) > 1e-14) & (u >= 0) & (v >= 0) & (u + v <= 1) & (t > 1e-9)
        out.append(float(t[ok].min()) if ok.any() else None)
    return out


def nearest(tris, points):
    """Distance to the surface: the least over all facets, plane or edges (segments)."""
    a, b, c = tris[:, 0], tris[:, 1], tris[:, 2]
    n = np.cross(b - a, c - a)
    n /= np.linalg.norm(n, axis=1)[:, None]
    out = []
    for p in points:
        best = np.inf
        inside = np.ones(len(tris), bool)
        for u, v in ((a, b), (b, c), (c, a)):
            w = v - u
            t = np.clip(np.einsum("ij,ij->i", p - u, w) / np.einsum("ij,ij->i", w, w), 0, 1)
            best = min(best, np.linalg.norm(u + w * t[:, None] - p, axis=1).min())
            inside &= np.einsum("ij,ij->i", np.cross(w, p - u), n) >= 0
        if inside.any():
            best = min(best, np.abs(np.einsum("ij,ij->i", p - a, n))[inside].min())
        out.append(float(best))
    return out


def mesh(path):
    tris = load(path)
    a, b, c = tris[:, 0], tris[:, 1], tris[:, 2]
    corners, index = np.unique(tris.reshape(-1, 3), axis=0, return_inverse=True)
    index = index.reshape(-1, 3)
    graph = sparse.coo_matrix((np.ones(len(index) * 2), (np.r_[index[:, 0], index[:, 1]], np.r_[index[:, 1], index[:, 2]])), (len(corners),) * 2)
    return {"volume": float(np.einsum("ij,ij->i", a, np.cross(b, c)).sum() / 6),
            "area": float(np.linalg.norm(np.cross(b - a, c - a), axis=1).sum() / 2),
            "shells": int(csgraph.connected_components(graph, False)[0])}


def fit(source, target):
    """Scale and shift that lay one cloud on another, corner by corner."""
    s, t = np.array(source), np.array(target)
    best = optimize.least_squares(lambda v: (v[0] * s + v[1:] - t).ravel(), [1, 0, 0, 0])
    return best.x.tolist()


def answer(job):
    task = job["task"]
    if task == "mesh":
        return [mesh(p) for p in job["files"]]
    if task == "hull":
        hulls = [spatial.ConvexHull(np.array(p)) for p in job["clouds"]]
        return [{"area": float(h.volume), "length": float(h.area)} for h in hulls]
    if task == "plane":
        return (ndimage.distance_transform_edt(~np.array(job["set"], bool)) ** 2).round().astype(int).ravel().tolist()
    if task == "fit":
        return fit(job["source"], job["target"])
    tris = load(job["file"])
    points = np.array(job["points"])
    if task == "winding":
        return winding(tris, points)
    if task == "rays":
        return rays(tris, points, np.array(job["ways"]))
    return nearest(tris, points)


if __name__ == "__main__":
    json.dump([answer(j) for j in json.load(sys.stdin)], sys.stdout)
