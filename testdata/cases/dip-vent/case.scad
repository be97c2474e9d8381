// bodies: part front back
use <../shapes.scad>

body = "part";

mold(body, [-7, -7, -7], [52, 27, 26], 10, 1) {
    box([0, 0, 0], [30, 20, 10]);
    union() {
        bore(4, [10, 10, -8], [10, 10, 1], 32);    // gate
        // Vent: from its mouth, z 6..8 in the end wall, up, over, down below the mouth, over, up and out.
        box([29, 9, 6], [35, 11, 8]);
        box([33, 9, 6], [35, 11, 18]);
        box([33, 9, 16], [40, 11, 18]);
        box([38, 9, 1], [40, 11, 18]);
        box([38, 9, 1], [45, 11, 3]);
        box([43, 9, 1], [45, 11, 27]);
    }
}
