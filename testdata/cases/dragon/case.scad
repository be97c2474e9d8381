// bodies: front back
// The part is a scan, not rebuilt: build.sh hands its unpacked mesh over as `scan`.
use <../shapes.scad>

body = "front";
scan = "part.stl";

mold(body, [-28, -16, -8], [28, 16, 38], 0, 1) {
    import(scan, convexity = 10);
    union() {
        bore(4, [-6.9, 5, -9], [-6.9, 5, 2], 32);              // gate
        bore(2, [-7.83, 3.4, 28], [-7.83, 3.4, 39], 32);       // vent over the head
        bore(2, [7.23, 3.35, 22], [7.23, 3.35, 39], 32);       // and over the back's arch
    }
}
