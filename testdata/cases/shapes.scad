// Solids shared by the case molds: round bodies whose facets are placed on
// purpose, bores, and the half of a block. Millimetres, degrees, up is +z.

function total(list) = list * [for (i = list) 1];

// ---- geodesic sphere -------------------------------------------------------
// An icosahedron with a corner on the z axis, each face cut into f*f triangles
// and pushed out to the sphere: 20 f^2 facets of nearly equal size. With f even
// the equator z = 0 is a row of edges. The radius is set so that the polyhedron
// has the volume of the sphere of radius r: the facets then stray to both sides
// of the sphere by half the chord error instead of lying inside it.

function ico_ring(z, turn, s) =
    let (w = sqrt(1 - z * z)) [w * cos(72 * s + turn), w * sin(72 * s + turn), z];
function ico_u(s) = ico_ring(1 / sqrt(5), 0, s);
function ico_l(s) = ico_ring(-1 / sqrt(5), 36, s);
function mix(a, b, t) = a * (1 - t) + b * t;

// Point j of strip s (72 deg wide) in row k (0 north pole, 3f south pole).
function geo_point(f, k, s, j) =
    k == 0 ? [0, 0, 1] : k == 3 * f ? [0, 0, -1] :
    k < f ? mix(mix([0, 0, 1], ico_u(s), k / f), mix([0, 0, 1], ico_u(s + 1), k / f), j / k) :
    k > 2 * f ? let (m = 3 * f - k)
        mix(mix([0, 0, -1], ico_l(s), m / f), mix([0, 0, -1], ico_l(s + 1), m / f), j / m) :
    let (t = (k - f) / f, n = 2 * f - k, q = mix(ico_u(s + 1), ico_l(s), t))
        j < n ? mix(mix(ico_u(s), ico_l(s), t), q, j / n)
              : mix(q, mix(ico_u(s + 1), ico_l(s + 1), t), (j - n) / (k - f));

function geo_count(f, k) = k < f ? k : k > 2 * f ? 3 * f - k : f;
function geo_first(f, k) =    // index of the first point of row k
    k == 0 ? 0 :
    k <= f ? 1 + 5 * k * (k - 1) / 2 :
    k <= 2 * f ? 1 + 5 * f * (f - 1) / 2 + 5 * f * (k - f) :
    let (m = 3 * f - k) 10 * f * f + 1 - 5 * (m + 1) * m / 2;
function geo_index(f, k, s, j) =
    let (n = geo_count(f, k)) n == 0 ? geo_first(f, k) : geo_first(f, k) + (s * n + j) % (5 * n);

function geo_points(f) = [
    for (k = [0 : 3 * f]) let (n = geo_count(f, k))
        if (n == 0) geo_point(f, k, 0, 0)
        else for (s = [0 : 4]) for (j = [0 : n - 1]) let (p = geo_point(f, k, s, j)) p / norm(p)];

function geo_faces(f) = [
    for (k = [0 : 3 * f - 1]) for (s = [0 : 4])
        let (m = geo_count(f, k), n = geo_count(f, k + 1))
        if (k < f) each [
            for (j = [0 : m]) [geo_index(f, k, s, j), geo_index(f, k + 1, s, j + 1), geo_index(f, k + 1, s, j)],
            for (j = [0 : 1 : m - 1]) [geo_index(f, k, s, j), geo_index(f, k, s, j + 1), geo_index(f, k + 1, s, j + 1)]]
        else if (k < 2 * f) each [
            for (j = [0 : f - 1]) each [
                [geo_index(f, k, s, j), geo_index(f, k, s, j + 1), geo_index(f, k + 1, s, j)],
                [geo_index(f, k + 1, s, j), geo_index(f, k, s, j + 1), geo_index(f, k + 1, s, j + 1)]]]
        else each [
            for (j = [0 : m - 1]) [geo_index(f, k, s, j), geo_index(f, k, s, j + 1), geo_index(f, k + 1, s, j)],
            for (j = [0 : 1 : n - 1]) [geo_index(f, k, s, j + 1), geo_index(f, k + 1, s, j + 1), geo_index(f, k + 1, s, j)]]];

function geo_volume(p, faces) = -total([for (t = faces) p[t[0]] * cross(p[t[1]], p[t[2]])]) / 6;

module geo_sphere(r, f) {
    p = geo_points(f);
    faces = geo_faces(f);
    grow = pow(4 / 3 * PI / geo_volume(p, faces), 1 / 3);
    polyhedron(points = r * grow * p, faces = faces);
}

// The upper half of geo_sphere, closed by its flat at z = 0 (f even).
module geo_dome(r, f) {
    all = geo_points(f);
    top = [for (p = all) if (p[2] > -1e-9) p];
    faces = [for (t = geo_faces(f)) if (max(t) < len(top)) t];
    grow = pow(4 / 3 * PI / geo_volume(all, geo_faces(f)), 1 / 3);
    rim = [for (i = [len(top) - 5 * f : len(top) - 1]) i];
    polyhedron(points = r * grow * top, faces = concat(faces, [rim]));
}

// ---- channels --------------------------------------------------------------
// A straight bore from a to b. Corners of its n-gon lie on the circle, the first
// one towards +x for a bore along z: it is as wide as d at its corners and
// d*cos(180/n) across its flats.
module bore(d, a, b, n = 32) {
    v = b - a;
    l = norm(v);
    translate(a)
        rotate([0, acos(v[2] / l), atan2(v[1], v[0])])
            cylinder(d = d, h = l, $fn = n);
}

// A box given by two corners.
module box(a, b) {
    translate(a) cube(b - a);
}

// A slot over y0..y1 that leaves an opening of height z0..z1 in the plane x = x0
// upwards at 45 deg towards +x (side 1) or -x (side -1), over a run of `run` mm.
module riser_slot(x0, y0, y1, z0, z1, run, side = 1) {
    e = 0.5;    // reaches this far into the cavity, inside its own outline there
    translate([0, y1, 0]) rotate([90, 0, 0]) linear_extrude(y1 - y0)
        polygon([[x0, z0], [x0 + side * run, z0 + run], [x0 + side * run, z1 + run], [x0, z1],
                 [x0 - side * e, z1], [x0 - side * e, z0]]);
}

// ---- molds -----------------------------------------------------------------
// The part, or one half of a block from corner lo to corner hi that is split at
// `at` along an axis (0 x: left/right, 1 y: front/back, 2 z: bottom/top).
// Children: the part; what else is cut out (gate, vents, voids).
module mold(body, lo, hi, at, axis = 2) {
    names = [["left", "right"], ["front", "back"], ["bottom", "top"]][axis];
    if (body == "part") children(0);
    if (body == names[0]) difference() {
        box(lo, [for (i = [0 : 2]) i == axis ? at : hi[i]]);
        children();
    }
    if (body == names[1]) difference() {
        box([for (i = [0 : 2]) i == axis ? at : lo[i]], hi);
        children();
    }
}

// A conical key on a parting face at p, 14 deg a side; a socket is a key grown by
// `gap` at right angles to its faces.
module key(p, d, h, gap = 0) {
    slope = 0.25;
    r = d / 2 + gap * sqrt(1 + slope * slope);
    translate(p) cylinder(r1 = r, r2 = r - slope * (h + gap), h = h + gap, $fn = 64);
}
