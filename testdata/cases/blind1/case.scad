// bodies: part bottom top
use <../shapes.scad>

body = "part";
short = 1;    // rubber left at the end of the blind bore

mold(body, [0, 0, 0], [60, 40, 30], 15) {
    box([10, 10, 10], [50, 30, 20]);
    union() {
        bore(4, [30, 20, -1], [30, 20, 11], 32);            // gate
        bore(2, [30, 20, 19], [30, 20, 31], 32);            // vent
        bore(2, [46, 20, 19], [46, 20, 30 - short], 32);    // blind
    }
}
