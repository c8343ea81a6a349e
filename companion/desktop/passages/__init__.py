"""The passages of a finished take, browsed one by one."""
