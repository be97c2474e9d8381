// Dimmer knob for a desk lamp and its two-part block mold, in two revisions.
// bodies: part bottom top-a top-b
//
// Millimeters, up is +z, assembled position: the parting face is z = 0, the part
// stands dome up on it. Poured with the +x side raised by 15 deg.
// Revision A has three mistakes in its top half: the pointer rib has no vent, the
// vent of the dome stops 1 mm short of the outside, the vent of the button sits
// 3.5 mm beside its high point. Revision B differs in its vents only.

body = "part";

// ---- the part --------------------------------------------------------------
across = 44;
apex = 16;           // height of the dome
dome_r = 62.5;       // its radius
edge_r = 1.6;        // rounding between dome and side
flutes = 12;
flute_r = 7;         // radius of a finger flute
flute_depth = 1.8;

hollow_r = 17.2;
roof = 3;            // thickness of the dome
boss_d = 12;
boss_end = 1.5;      // height of its free end
bore_d = 6.1;        // D-bore for a 6 mm shaft
bore_flat = 4.6;     // across the flat
bore_top = 12;
web = 2;             // four webs between boss and wall

button_r = 8;
button_top = 17.2;
rib_in = 9.5;        // pointer rib: from here ...
rib_out = 19;        // ... to here, along -x
rib_w_in = 5;
rib_w_out = 3;
rib_h = 2;           // above the dome
chamfer = 0.4;       // on button and rib

// ---- the mold --------------------------------------------------------------
block = [68, 64];
below = 10;          // thickness of the bottom half
above = 26;          // height of the top half
gate_d = 4;
gate_cone = [10, 4.6];    // length and outer diameter: 6 % taper
vent_d = 2;
clearance = 0.15;    // of the keys, per side
keys = [[27, 25, 6], [-27, 25, 6], [26, -25, 6], [-21, -25.5, 5]];   // x, y, diameter at the face
key_h = 4;

// Vents of the top half: x, y, height where the bore ends. A bore starts inside the
// cavity below its mouth.
through = above + 1;
tilt = 15;
vents_a = [
    [dome_r * sin(tilt), 0, above - 1],
    [button_r - chamfer - 3.5, 0, through]];
vents_b = [
    [dome_r * sin(tilt), 0, through],
    [button_r - chamfer - 0.5, 0, through],
    [-rib_in - chamfer - 0.6, 0, through]];

round_n = 120;       // chord error at most 22 (1 - cos(180/120)) = 0.008 mm
steps = 12;          // rings of the dome: 1.8 mm apart, chord error 0.007 mm
turn = 1.1;          // turns bodies of revolution, so that their edges do not run into
                     // those of the straight walls and leave needle facets

function dome_z(r, lift = 0) = apex - dome_r + sqrt(pow(dome_r + lift, 2) - r * r);
function dome_arc(r0, r1, lift = 0) =
    [for (i = [0 : steps]) let (r = r0 + (r1 - r0) * i / steps) [r, dome_z(r, lift)]];

// Solid under a dome, out to radius r.
module under_dome(r, lift = 0) {
    rotate(turn) rotate_extrude($fn = round_n)
        polygon(concat([[r, -1], [0, -1]], dome_arc(0, r, lift)));
}

// The same with its edge rounded, out to radius r.
module under_rounded_dome(r) {
    inner = r - edge_r;                                  // radius of the rounding's centre
    c = [inner, sqrt(pow(dome_r - edge_r, 2) - inner * inner) + apex - dome_r];
    lean = asin(inner / (dome_r - edge_r));              // where dome and rounding meet
    touch = dome_r * sin(lean);
    rotate(turn) rotate_extrude($fn = round_n)
        polygon(concat([[r, -1], [0, -1]], dome_arc(0, touch),
            [for (i = [1 : 6]) let (a = 90 - lean - (90 - lean) * i / 6)
                c + edge_r * [cos(a), sin(a)]]));
}

module outline() {
    difference() {
        circle(d = across, $fn = round_n);
        for (i = [0 : flutes - 1]) rotate(360 / flutes * (i + 0.5))
            translate([across / 2 + flute_r - flute_depth, 0]) circle(r = flute_r, $fn = 72);
    }
}

module side() {
    linear_extrude(apex + 1) outline();
}

module hollow() {
    rotate(turn) rotate_extrude($fn = round_n)
        polygon(concat([[hollow_r, 0], [0, 0]], dome_arc(0, hollow_r, -roof)));
}

module boss() {
    translate([0, 0, boss_end]) cylinder(d = boss_d, h = apex - 1 - boss_end, $fn = 72);
    for (a = [0 : 90 : 270]) rotate(a)
        translate([0, -web / 2, 5]) cube([hollow_r + 0.6, web, 9]);
}

module d_bore() {
    translate([0, 0, -1]) linear_extrude(bore_top + 1) intersection() {
        circle(d = bore_d, $fn = 64);
        translate([-bore_d, -bore_d]) square([bore_flat + bore_d / 2, 2 * bore_d]);
    }
}

module button() {
    translate([0, 0, apex - 2]) {
        cylinder(r = button_r, h = button_top - chamfer - apex + 2, $fn = 96);
        translate([0, 0, button_top - chamfer - apex + 2])
            cylinder(r1 = button_r, r2 = button_r - chamfer, h = chamfer, $fn = 96);
    }
}

module rib_outline(inset) {
    offset(delta = -inset) offset(r = 1, $fn = 32) offset(delta = -1)
        polygon([[-rib_in, -rib_w_in / 2], [-rib_in, rib_w_in / 2],
                 [-rib_out, rib_w_out / 2], [-rib_out, -rib_w_out / 2]]);
}

module rib() {
    hull() {
        intersection() {
            under_dome(20.5, rib_h - chamfer);
            translate([0, 0, 12.8]) linear_extrude(7) rib_outline(0);
        }
        intersection() {
            under_dome(20.5, rib_h);
            translate([0, 0, 12.8]) linear_extrude(7) rib_outline(chamfer);
        }
    }
}

module part() {
    difference() {
        union() {
            difference() {
                intersection() {
                    side();
                    under_rounded_dome(across / 2 + 0.1);    // meets the side in a crease, not in a tangent plane
                    translate([-50, -50, 0]) cube([100, 100, 50]);
                }
                hollow();
            }
            intersection() {
                boss();
                under_dome(hollow_r + 2, -roof / 2);
            }
            button();
            rib();
        }
        d_bore();
    }
}

// ---- the mold's halves ------------------------------------------------------
module gate() {
    outside = -block[0] / 2;
    translate([outside, 0, 0]) rotate([0, 90, 0]) {
        cylinder(d = gate_d, h = -outside - 20, $fn = 48);
        cylinder(d1 = gate_cone[1], d2 = gate_d, h = gate_cone[0], $fn = 48);
        translate([0, 0, -1]) cylinder(d = gate_cone[1], h = 1, $fn = 48);
    }
}

// A cone on the parting face, 14 deg a side; a socket is a key grown by `gap` at
// right angles to its faces.
// A cone on the parting face, 14 deg a side; a socket is a key grown by `gap` at
// right angles to its faces.
module key(k, gap) {
    slope = 0.25;
    r = k[2] / 2 + gap * sqrt(1 + slope * slope);
    translate([k[0], k[1], 0])
        cylinder(r1 = r, r2 = r - slope * (key_h + gap), h = key_h + gap, $fn = 64);
}

module bottom() {
    union() {
        difference() {
            translate([-block[0] / 2, -block[1] / 2, -below]) cube([block[0], block[1], below]);
            gate();
        }
        core();
        for (k = keys) key(k, 0);
    }
}

// What stands up into the part: the space of the hollow less boss and webs, and the pin of the D-bore.
module core() {
    difference() {
        hollow();
        part();
    }
}

module top(vents) {
    difference() {
        translate([-block[0] / 2, -block[1] / 2, 0]) cube([block[0], block[1], above]);
        part();
        hollow();
        gate();
        for (k = keys) key(k, clearance);
        for (v = vents) translate([v[0], v[1], apex - 3]) cylinder(d = vent_d, h = v[2] - apex + 3, $fn = 32);
    }
}

if (body == "part") part();
if (body == "bottom") bottom();
if (body == "top-a") top(vents_a);
if (body == "top-b") top(vents_b);
