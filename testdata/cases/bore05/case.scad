// bodies: part bottom top
use <../shapes.scad>

body = "part";
d = 0.5;    // of the vent

mold(body, [0, 0, 0], [60, 40, 30], 15) {
    box([10, 10, 10], [50, 30, 20]);
    union() {
        bore(4, [30, 20, -1], [30, 20, 11], 32);    // gate
        bore(d, [30, 20, 19], [30, 20, 31], 32);    // vent
    }
}
