// bodies: part bottom top
use <../shapes.scad>

body = "part";
split = 12;
clearance = 0.15;
keys = [[0, 30, 6], [-28, -10, 6], [19, -23, 5]];    // x, y, diameter

module part() box([-12, -10, 8], [18, 10, 20]);

module shell(z0, z1) translate([0, 0, z0]) cylinder(d = 80, h = z1 - z0, $fn = 96);

module cut() {
    part();
    bore(4, [-22, 0, split], [-11, 0, split], 32);                          // gate: runner on the parting face,
    bore(4, [-22, 0, 9.5], [-22, 0, 36], 32);                               // sprue,
    translate([-22, 0, 34]) cylinder(d1 = 4, d2 = 20, h = 8, $fn = 64);     // and funnel, all outside the block
    bore(2, [10, 0, 19], [10, 0, 33], 32);                                  // vent
    box([-6, -45, split - 1.5], [6, -36, split + 1.5]);                     // pry slot
}

if (body == "part") part();
if (body == "bottom") union() {
    difference() {
        union() {
            shell(0, split);
            box([30, -8, 5], [54, 8, 9]);    // pull tab
        }
        cut();
    }
    for (k = keys) key([k[0], k[1], split], k[2], 4);
}
if (body == "top") difference() {
    union() {
        shell(split, 32);
        box([30, -8, 15], [54, 8, 19]);    // pull tab
        translate([-22, 0, 31]) cylinder(d = 26, h = 11, $fn = 64);
    }
    cut();
    for (k = keys) key([k[0], k[1], split], k[2], 4, clearance);
}
