// bodies: part bottom top
include <../bore05/case.scad>
d = 1.0;
