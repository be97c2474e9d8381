// bodies: part bottom top
use <../shapes.scad>

body = "part";

mold(body, [-8, -8, -7], [48, 38, 21], 5) {
    box([0, 0, 0], [40, 30, 10]);
    union() {
        bore(4, [20, 15, -8], [20, 15, 1], 64);    // gate
        riser_slot(0, 12, 18, 7, 10, 9, -1);       // vent, leaves the ceiling's x = 0 edge
    }
}
