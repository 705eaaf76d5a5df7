G21 G90 F600
O1 while [#1 LT 3]
#1=[#1+1] #<_all>=#1
O2 repeat [2]
G91 G1 X1 Y[#1 MOD 2]
O3 if [#1 EQ 2 AND #<_all> GT 1]
O1 continue
O3 elseif [#1 NE 5]
O2 break
O3 else
O3 endif
O2 endrepeat
O1 endwhile
O4 do
#<n>=[#<n>+1]
O4 while [#<n> LE 2]
M2
