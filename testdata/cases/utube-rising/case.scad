// bodies: part bottom top
include <../utube/case.scad>
side = "rising";
