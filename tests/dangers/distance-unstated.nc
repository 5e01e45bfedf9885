(on bench-router)
(work 800 x 500 x 12 mm)
G21 G17 G94 G54
G0 Z20 (note)
T1
M0
S3000
M3
G4 P3
G0 Z20
M5
G0 X0 Y0
M2
