// bodies: front back
// The part is a scan, not rebuilt: build.sh hands its unpacked mesh over as `scan`.
use <../shapes.scad>

body = "front";
scan = "part.stl";

mold(body, [-28, -23, -8], [28, 23, 48], 3, 1) {
    import(scan, convexity = 10);
    union() {
        bore(4, [-6, -2, -9], [-6, -2, 3], 32);                  // gate
        bore(2, [0.01, 5.42, 37.5], [0.01, 5.42, 49], 32);       // vent at one ear's tip
        bore(2, [-14.29, 12.83, 36], [-14.29, 12.83, 49], 32);   // and at the other's
    }
}
