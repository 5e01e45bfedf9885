(on servo-plotter)
(work 900 x 600 x 0 mm)
G21 G17 G90 G94 G54
M5
G0 X950 Y100
M3 S90 (fault)
G4 P0.25
M5
G4 P0.25
G0 X0 Y0
M2
