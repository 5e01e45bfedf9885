(on bench-router)
(work 800 x 500 x 12 mm)
G21 G17 G90 G94 G54
#1=20
G0 Z#1
#2=[#1+#3] (note)
G0 X0 Y0
M2
