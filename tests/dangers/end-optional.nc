(on bench-router)
(work 800 x 500 x 12 mm)
G21 G17 G90 G94 G54
G0 Z20
/M2 (fault)
G0 X2000
