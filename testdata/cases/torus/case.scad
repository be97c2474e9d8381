// bodies: part front back
use <../shapes.scad>

body = "part";

mold(body, [-35, -14, -35], [35, 14, 35], 0, 1) {
    rotate([90, 0, 0]) rotate_extrude($fn = 96) translate([20, 0]) circle(r = 7, $fn = 48);
    union() {
        bore(4, [0, 0, -36], [0, 0, -25], 32);    // gate
        bore(2, [0, 0, 25], [0, 0, 36], 32);      // vent
    }
}
