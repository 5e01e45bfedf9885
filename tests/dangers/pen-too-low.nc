(on roll-plotter)
(work 900 x 600 x 0 mm)
G21 G17 G90 G94 G54
G0 Z5
G0 X100 Y100
G1 Z-2 F1000 (fault)
G0 Z5
G0 X0 Y0
M2
