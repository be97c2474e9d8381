// bodies: part bottom top
include <../cup/case.scad>
boss = "dome";
