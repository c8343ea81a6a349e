"""Files from anywhere, made safe: bounded in size, unpacked, converted, parsed without surprise."""
