// bodies: part bottom top
use <../shapes.scad>

body = "part";
t = 0.1;    // thickness of each membrane

mold(body, [-8, -11, -7], [46, 28, 22], 3) {
    box([0, 0, 0], [30, 20, 10]);
    union() {
        bore(4, [15, 10, -8], [15, 10, 1], 32);              // gate
        box([14, 9, 9], [16, 11, 23]);                       // vent
        box([30 + t, 6, 5], [37 + t, 14, 9]);                // closed void beside the end wall
        box([20, 3, 10 + t], [26, 9, 14 + t]);               // closed void above the ceiling
        box([24, -3 - t, -8], [27, -t, 23]);                 // bore through the block beside a wall
    }
}
