# Makes a model with DRAW of OpenCASCADE 6.9: DRAWEXE -b -f shaft_draw.tcl
pload MODELING
pload XSDRAW
plane p 3 4 5 0 -1 0
pcylinder a p 7.5 36
plane p 3 -32 5 0 -1 0
pcylinder b p 10 400
plane p 3 -432 5 0 -1 0
pcylinder c p 6 24
bfuse ab a b
bfuse s ab c
param write.step.unit INCH
stepwrite a s inch214.step
exit
