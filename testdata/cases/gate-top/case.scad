// bodies: part bottom top
use <../shapes.scad>

body = "part";

mold(body, [-8, -8, -7], [48, 28, 26], 10) {
    union() {
        box([0, 0, 0], [20, 20, 18]);      // low floor, under the gate
        box([0, 0, 10], [40, 20, 18]);     // high floor, under the vent
    }
    union() {
        bore(4, [6, 10, 17], [6, 10, 27], 32);      // gate
        bore(2, [37, 10, 17], [37, 10, 27], 32);    // vent
    }
}
