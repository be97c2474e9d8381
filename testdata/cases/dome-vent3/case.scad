// bodies: part bottom top
use <../shapes.scad>

body = "part";

mold(body, [-17, -17, -7], [17, 17, 18], 0) {
    geo_dome(10, 24);
    union() {
        bore(4, [0, 0, -8], [0, 0, 1], 64);    // gate
        // Vent whose corner nearest the axis, at -x, meets the dome 3 mm below its top.
        bore(2, [sqrt(51) + 1, 0, 2], [sqrt(51) + 1, 0, 19], 64);
    }
}
