(on bench-router)
(work 800 x 500 x 12 mm)
G21 G17 G90 G94 G54
G53 G0 Z0
G53 G0 Z-40 (note)
G0 X0 Y0
M2
