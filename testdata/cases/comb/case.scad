// bodies: part bottom top
use <../shapes.scad>

body = "part";

mold(body, [-8, -8, -7], [71, 28, 28], 3) {
    union() {
        box([0, 0, 0], [63, 20, 6]);
        for (i = [0 : 4]) box([4 + 12 * i, 4, 0], [10 + 12 * i, 16, 12 + 2 * i]);
    }
    union() {
        bore(4, [2.5, 10, -8], [2.5, 10, 1], 32);    // gate
        riser_slot(63, 0, 20, 3.5, 6, 9);            // vent along the whole +x edge
    }
}
