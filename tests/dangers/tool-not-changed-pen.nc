(on trim-router)
(work 700 x 500 x 50 mm)
G21 G17 G90 G94 G54
G0 Z20
T1
G0 X100 Y100
G1 Z0 F500 (fault)
G0 Z20
G0 X0 Y0
M2
