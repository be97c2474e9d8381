// bodies: part bottom top
use <../shapes.scad>

body = "part";
grow = 1;                 // cavity, gate and vent against the part (shrink-box-*)
about = [30, 20, 15];     // the point that stays
part_lo = [10, 10, 10];
part_hi = [50, 30, 20];

module grown() {
    translate(about * (1 - grow)) scale(grow) children();
}

if (body == "part") box(part_lo, part_hi);
else mold(body, [0, 0, 0], [60, 40, 30], 15) grown() union() {
    box(part_lo, part_hi);
    box([28, 18, -1], [32, 22, 11]);    // gate
    box([29, 19, 19], [31, 21, 31]);    // vent
}
