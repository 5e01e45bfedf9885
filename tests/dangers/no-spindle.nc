(on roll-plotter)
(work 900 x 600 x 0 mm)
G21 G17 G90 G94 G54
G0 Z5
M3 S1000 (fault)
G0 Z5
G0 X0 Y0
M2
