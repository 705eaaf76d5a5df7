; words beyond the standard, text, skipped lines
M7302 text (that (is) free
/G1 X1 F100
N3 G28 X0 Y0*85
M7304
G1 E1.5 F1800
M7303
G92 E0 X5
G7029
M7301 S500 T300
M7204S200
G4 P0.5
T1 M6 S1000 M3
G53 G0 Z5
M30
