// bodies: part bottom top
use <../shapes.scad>

body = "part";

mold(body, [-8, -8, -7], [48, 38, 18], 5) {
    box([0, 0, 0], [40, 30, 10]);
    union() {
        bore(4, [20, 15, -8], [20, 15, 1], 64);    // gate
        // Vent whose flats, not corners, face -x and +x: across them it spans x 0..2 exactly.
        translate([1, 15, 9]) rotate(180 / 64) cylinder(r = 1 / cos(180 / 64), h = 10, $fn = 64);
    }
}
