// bodies: part bottom top
use <../shapes.scad>

body = "part";
boss = "cylinder";    // dome-cup sets "dome"

module part() union() {
    box([0, 0, 0], [90, 60, 8]);
    if (boss == "cylinder") translate([45, 30, 0]) cylinder(r = 10, h = 38, $fn = 128);
    if (boss == "dome") translate([45, 30, 8]) geo_dome(10, 24);
}

mold(body, [-8, -8, -8], [98, 68, boss == "dome" ? 26 : 46], 4) {
    part();
    union() {
        bore(4, [5, 30, -9], [5, 30, 1], 64);    // gate
        riser_slot(90, 0, 60, 5, 8, 10);         // vent along the whole +x edge
    }
}
