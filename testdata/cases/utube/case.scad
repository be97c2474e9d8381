// bodies: part bottom top
use <../shapes.scad>

body = "part";
side = "none";    // vent in the right shaft: none, level, rising, downhill

module part() union() {
    box([0, 0, 0], [16, 4, 5]);
    box([0, 0, 0], [4, 4, 20]);
    box([12, 0, 0], [16, 4, 20]);
}

// A channel 2 mm wide whose opening is z 10..12 in the right shaft's outer wall
// and whose outer end lies `rise` mm higher.
module side_vent(rise) {
    translate([0, 3, 0]) rotate([90, 0, 0]) linear_extrude(2)
        polygon([[15, 10], [16, 10], [23, 10 + rise], [23, 12 + rise], [16, 12], [15, 12]]);
}

mold(body, [-6, -6, -6], [22, 10, 26], 5) {
    part();
    union() {
        box([6.5, 0.5, -7], [9.5, 3.5, 1]);    // gate
        box([1, 1, 19], [3, 3, 27]);           // vent of the left shaft
        if (side == "level") side_vent(0);
        if (side == "rising") side_vent(7);
        if (side == "downhill") side_vent(-3);
    }
}
