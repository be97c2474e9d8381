// bodies: part bottom top
use <../shapes.scad>

body = "part";
t = 0.5;

mold(body, [-8, -8, -7], [56, 38, 10], 0) {
    box([0, 0, 0], [40, 30, t]);
    union() {
        bore(4, [3, 15, -8], [3, 15, t / 2], 32);    // gate
        // Vent: a slot over the last 2 mm of the sheet, whole width, leaving at 45 deg towards +x.
        translate([0, 30, 0]) rotate([90, 0, 0]) linear_extrude(30)
            polygon([[38 - t / 2, t / 2], [40 - t / 2, t / 2], [50, 10 + t], [48, 10 + t]]);
    }
}
