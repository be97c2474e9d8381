// bodies: part bottom top
include <../b0/case.scad>
grow = 1.01;
