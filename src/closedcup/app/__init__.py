"""What people use: use-cases, and the two thin faces (command line and web) over them."""
