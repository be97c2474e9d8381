// bodies: part bottom top
include <../blind1/case.scad>
short = 0.3;
