(on bench-router)
G21 G17 G90 G94 G54
X10 (fault)
M2
