// bodies: part bottom top
use <../shapes.scad>

body = "part";
r = 20;
f = 26;       // geodesic frequency: 20 f^2 facets
n = 128;      // corners of the bores
grow = 1;     // cavity, gate and vent against the part (shrink-sphere-*)
w = r + 7;    // half the block

mold(body, [-w, -w, -w], [w, w, w], 0) {
    geo_sphere(r, f);
    scale(grow) union() {
        geo_sphere(r, f);
        bore(4, [0, 0, -w - 1], [0, 0, 1 - r], n);    // gate
        bore(2, [0, 0, r - 1], [0, 0, w + 1], n);     // vent
    }
}
