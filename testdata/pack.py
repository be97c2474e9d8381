#!/usr/bin/env python3
"""Meshes of testdata: pack, measure, compare. Standard library only.

    pack.py pack IN.stl OUT.stl.gz      binary STL, facets in a fixed order, gzip without name or time
    pack.py compare NEW.stl OLD.stl.gz  volumes equal within 1e-4, both closed; exit 1 if not
    pack.py table FILE.stl.gz...        facets and volume of each, as lines of a table

Every command refuses a mesh that is not closed: each edge must be used once in each direction.
"""
import gzip
import math
import struct
import sys

TOLERANCE = 1e-4  # relative difference of volumes
HEADER = b"pourproof mesh, mm".ljust(80)


def read(path):
    """Facets of a binary STL, plain or gzip'd: a list of nine float32 values each."""
    with (gzip.open if path.endswith(".gz") else open)(path, "rb") as f:
        data = f.read()
    count = struct.unpack_from("<I", data, 80)[0] if len(data) >= 84 else -1
    if len(data) != 84 + 50 * count:
        sys.exit(f"{path}: not a binary STL")
    # + 0.0 turns -0 into 0, so that equal places have equal bits.
    return [tuple(v + 0.0 for v in struct.unpack_from("<12x9f", data, 84 + 50 * i)) for i in range(count)]


def corners(facet):
    return facet[0:3], facet[3:6], facet[6:9]


def check_closed(path, facets):
    edges = {}
    for facet in facets:
        a, b, c = corners(facet)
        if a == b or b == c or c == a:
            sys.exit(f"{path}: facet with two equal corners at {a}")
        for edge in ((a, b), (b, c), (c, a)):
            edges[edge] = edges.get(edge, 0) + 1
    bad = [e for e, n in edges.items() if n != 1 or edges.get((e[1], e[0])) != 1]
    if bad:
        sys.exit(f"{path}: {len(bad)} open or overused edges, the first at {bad[0]}")


def volume(facets):
    """Signed volume in mm3, exactly rounded sum of the tetrahedra to the origin."""
    terms = []
    for facet in facets:
        (ax, ay, az), (bx, by, bz), (cx, cy, cz) = corners(facet)
        terms.append(ax * (by * cz - bz * cy) + ay * (bz * cx - bx * cz) + az * (bx * cy - by * cx))
    return math.fsum(terms) / 6


def ordered(facets):
    """Each facet starting at its smallest corner, facets sorted: the order no longer depends on the modeller."""
    turned = []
    for facet in facets:
        a, b, c = corners(facet)
        turned.append(min(a + b + c, b + c + a, c + a + b))
    return sorted(turned)


def normal(facet):
    """Unit normal rounded to 2^-12, which packs well and is all a viewer needs; zero for a needle."""
    (ax, ay, az), (bx, by, bz), (cx, cy, cz) = corners(facet)
    ux, uy, uz, vx, vy, vz = bx - ax, by - ay, bz - az, cx - ax, cy - ay, cz - az
    n = (uy * vz - uz * vy, uz * vx - ux * vz, ux * vy - uy * vx)
    length = math.sqrt(sum(c * c for c in n))
    return tuple(round(c / length * 4096) / 4096 + 0.0 for c in n) if length > 0 else (0.0, 0.0, 0.0)


def pack(source, target):
    facets = ordered(read(source))
    check_closed(source, facets)
    if volume(facets) <= 0:
        sys.exit(f"{source}: inside out")
    body = b"".join(struct.pack("<12f2x", *normal(facet), *facet) for facet in facets)
    with open(target, "wb") as f:
        f.write(gzip.compress(HEADER + struct.pack("<I", len(facets)) + body, 9, mtime=0))


def compare(new, old):
    a, b = read(new), read(old)
    check_closed(new, a)
    check_closed(old, b)
    va, vb = volume(a), volume(b)
    if abs(va - vb) > TOLERANCE * abs(vb):
        sys.exit(f"{old}: stored {vb:.4f} mm3, rebuilt {va:.4f} mm3")


def table(paths):
    for path in paths:
        facets = read(path)
        check_closed(path, facets)
        name = path.removesuffix(".stl.gz").split("/")
        print(f"| {name[-2]} | {name[-1]} | {len(facets)} | {volume(facets):.2f} |")


def main(args):
    if len(args) == 3 and args[0] == "pack":
        pack(args[1], args[2])
    elif len(args) == 3 and args[0] == "compare":
        compare(args[1], args[2])
    elif len(args) >= 2 and args[0] == "table":
        table(args[1:])
    else:
        sys.exit(__doc__)


main(sys.argv[1:])
