// Makes a model with gmsh 4.8 (OpenCASCADE 7.6): gmsh -0 shaft_gmsh.geo -o mirrored.step
SetFactory("OpenCASCADE");
Cylinder(1) = {0, 0, 0, 0, 0, 50, 6};
Cylinder(2) = {0, 0, 50, 0, 0, 30, 8.5};
Cylinder(3) = {0, 0, 80, 0, 0, 400, 12.5};
Cylinder(4) = {0, 0, 480, 0, 0, 28, 7.5};
BooleanUnion(5) = { Volume{1}; Delete; }{ Volume{2, 3, 4}; Delete; };
Box(6) = {-2, 4, 10, 4, 4, 20};
BooleanDifference(7) = { Volume{5}; Delete; }{ Volume{6}; Delete; };
Symmetry {1, 1, 0.5, 3} { Volume{7}; }
