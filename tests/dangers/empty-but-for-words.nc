(on bench-router)
(nothing else) (fault)
