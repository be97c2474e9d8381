// bodies: part bottom top
include <../sphere/case.scad>
r = 12;
f = 14;
n = 64;
grow = 1.005;
