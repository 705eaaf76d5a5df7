O<bow> sub
G91 G2 X#1 Y#2 R9
O7 if [#1 GT 1]
O<bow> call [#1-1] [2]
O<bow> return
O7 endif
O<bow> endsub
G0 F100
O<bow> call [3] [1]
G1 X5 M7305 P100 L2
G1 G7041 D3 X7
M30
O100
G87 X1 Z-3 R1 I1 J1 K-1
G80 G52 X1
G43.1 Z2
G49 G52 X0
M7306
