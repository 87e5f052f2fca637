"""What templates of every room ask of this one."""
