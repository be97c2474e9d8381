// bodies: part bottom top
include <../membrane01/case.scad>
t = 0.3;
