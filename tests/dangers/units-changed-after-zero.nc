(on bench-router)
(work 800 x 500 x 12 mm)
G21 G17 G90 G94 G54
G10 L2 P1 X0
G20 (fault)
G0 Z1
G0 X0 Y0
M2
