(on roll-plotter)
(work 900 x 600 x 0 mm)
G21 G17 G90 G94 G54
G0 Z5
G0 X100 Y100
G1 Z0 F1000
G4 P0.15
G1 X0 Y0 F3000
M2 (fault)
