// bodies: part front back
use <../shapes.scad>

body = "part";

mold(body, [-7, -7, -7], [71, 27, 28], 10, 1) {
    union() {
        box([0, 0, 0], [20, 20, 20]);      // basin of the gate
        box([19, 0, 10], [25, 20, 13]);    // passage over the weir
        box([24, 0, 0], [42, 20, 20]);     // first basin behind it, without a vent
        box([41, 0, 6], [47, 20, 15]);     // passage over the lower weir between the two
        box([46, 0, 0], [64, 20, 18]);     // second basin behind it
    }
    union() {
        bore(4, [10, 10, -8], [10, 10, 1], 32);       // gate
        bore(2, [10, 10, 19], [10, 10, 29], 32);      // vent of the gate's basin
        riser_slot(64, 8, 12, 14, 16, 8);             // vent of the last basin
    }
}
