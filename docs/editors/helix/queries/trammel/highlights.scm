; inherits: hcl
