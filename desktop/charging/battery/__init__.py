"""The battery: what it holds, what charging it costs, its resistance, and its state of charge counted anew."""
