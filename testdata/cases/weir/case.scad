// bodies: part front back
use <../shapes.scad>

body = "part";

mold(body, [-7, -7, -7], [67, 27, 28], 10, 1) {
    union() {
        box([0, 0, 0], [28, 20, 20]);      // basin of the gate
        box([27, 0, 10], [33, 20, 15]);    // passage over the weir
        box([32, 0, 0], [60, 20, 20]);     // second basin
    }
    union() {
        bore(4, [14, 10, -8], [14, 10, 1], 32);       // gate
        bore(2, [14, 10, 19], [14, 10, 29], 32);      // vent of the first basin
        riser_slot(60, 8, 12, 15, 17, 8);             // vent of the second
    }
}
