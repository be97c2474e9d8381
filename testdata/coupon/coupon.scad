// Coupon: a piece printed once for a printer and its rubber, and measured.
// bodies: coupon peg
//
// Millimeters, up is +z, printed as it lies: z = 0 is the face on the platform. Every
// feature bears its drawn size in two digits: bores and fins in tenths of a
// millimeter, sockets their clearance per side in hundredths.
//   low wall    level bores
//   plate       upright bores, fins, sockets for the peg
//   tall wall   bores that lean 45 deg
// Bores are at most 10 widths long, so that they can be washed out. Those of the plate
// widen to a 45 deg cone at the platform: the first layers are overexposed and would
// narrow them. Nothing needs supports: what faces the platform is the crown of a bore
// or as steep as its cone.

body = "coupon";

bores = [0.5, 0.8, 1.0, 1.2, 1.5, 2.0, 2.5, 3.0];
fins = [0.5, 0.8, 1.0, 1.2, 1.5, 2.0];
clearances = [0, 0.05, 0.10, 0.15, 0.20, 0.25, 0.30];    // per side

plate = [60, 40, 4.5];
cone = 1;              // height of the cones at the platform, and how much they widen a side
wall = 3.5;            // thickness of both walls
low = 10;              // top of the low wall
tall = 14.5;           // top of the tall wall
level_z = 7;           // axis of the level bores
lean_z = 9.5;          // middle of the leaning bores
bore_x = [5.5, 7];     // first, pitch
upright_y = 7.2;

fin = [7, 5];          // length, height above the plate
fin_x = [7.5, 9];
fin_y = 14;

peg_d = 4;
peg_h = 4;
tip = 0.4;             // chamfer of the peg's end
socket_x = [6, 8];
socket_y = 29;
grip = [14, 9, 5];     // what the peg is held by

dot = 0.5;             // digits are raised dots on a 3 x 5 grid: their pitch and height
round_n = 64;

// A bore's polygon goes around its circle, the peg's lies within: a pin of the drawn
// size passes the one, the other passes a gauge of the drawn size.
module bore(d, h) {
    cylinder(d = d / cos(180 / round_n), h = h, $fn = round_n);
}

module plate_bore(d) {
    translate([0, 0, -1]) bore(d, plate[2] + 2);
    around = 1 / cos(180 / round_n);
    cylinder(d1 = (d + 2 * cone) * around, d2 = d * around, h = cone, $fn = round_n);
}

digits = [
    ["111", "101", "101", "101", "111"],
    ["010", "010", "010", "010", "010"],
    ["111", "001", "111", "100", "111"],
    ["111", "001", "111", "001", "111"],
    [],
    ["111", "100", "111", "001", "111"],
    [],
    [],
    ["111", "101", "111", "101", "111"]];

// Two digits, middle at the origin.
module mark(n) {
    for (k = [0, 1]) for (row = [0 : 4]) for (i = [0 : 2])
        if (digits[k == 0 ? floor(n / 10) : n % 10][row][i] == "1")
            translate([(4 * k - 3.5 + i) * dot, (1.5 - row) * dot]) square(dot);
}

module marks(sizes, x, y, z, unit) {
    for (i = [0 : len(sizes) - 1]) translate([x[0] + i * x[1], y, z - dot])
        linear_extrude(2 * dot) mark(round(sizes[i] / unit));
}

module coupon() {
    difference() {
        union() {
            cube(plate);
            cube([plate[0], wall, low]);
            translate([0, plate[1] - wall, 0]) cube([plate[0], wall, tall]);
            for (i = [0 : len(fins) - 1])
                translate([fin_x[0] + i * fin_x[1] - fins[i] / 2, fin_y, plate[2] - 1]) cube([fins[i], fin[0], fin[1] + 1]);
            marks(bores, bore_x, wall / 2, low, 0.1);
            marks(bores, bore_x, 11, plate[2], 0.1);
            marks(fins, fin_x, 23, plate[2], 0.1);
            marks(clearances, socket_x, 33.5, plate[2], 0.01);
            marks(bores, bore_x, plate[1] - wall / 2, tall, 0.1);
        }
        for (i = [0 : len(bores) - 1]) translate([bore_x[0] + i * bore_x[1], 0, 0]) {
            translate([0, upright_y, 0]) plate_bore(bores[i]);
            translate([0, -1, level_z]) rotate([-90, 0, 0]) bore(bores[i], wall + 2);
            translate([0, plate[1] - wall / 2, lean_z]) rotate([45, 0, 0])
                translate([0, 0, -wall - 2]) bore(bores[i], 2 * wall + 4);
        }
        for (i = [0 : len(clearances) - 1])
            translate([socket_x[0] + i * socket_x[1], socket_y, 0]) plate_bore(peg_d + 2 * clearances[i]);
    }
}

module peg() {
    translate([-grip[0] / 2, -grip[1] / 2, 0]) cube(grip);
    translate([0, 0, grip[2] - 1]) cylinder(d = peg_d, h = peg_h + 1 - tip, $fn = round_n);
    translate([0, 0, grip[2] + peg_h - tip]) cylinder(d1 = peg_d, d2 = peg_d - 2 * tip, h = tip, $fn = round_n);
}

if (body == "coupon") coupon();
if (body == "peg") peg();
