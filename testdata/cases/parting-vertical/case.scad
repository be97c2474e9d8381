// bodies: part left right
use <../shapes.scad>

body = "part";
gap = 0;    // between the halves

translate([body == "left" ? -gap / 2 : body == "right" ? gap / 2 : 0, 0, 0])
    mold(body, [-23, -18, -7], [23, 18, 28], 0, 0) {
        box([-15, -10, 0], [15, 10, 20]);
        union() {
            bore(4, [0, 0, -8], [0, 0, 1], 32);     // gate
            bore(2, [0, 0, 19], [0, 0, 29], 32);    // vent
        }
    }
