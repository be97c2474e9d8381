// bodies: part left right
include <../parting-vertical/case.scad>
gap = 0.3;
