// bodies: part bottom top
include <../b0/case.scad>
grow = 1.01;
about = [0, 0, 0];
