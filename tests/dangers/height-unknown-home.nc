(on bench-router)
(work 800 x 500 x 12 mm)
G21 G17 G90 G94 G54
G28 (fault)
M2
