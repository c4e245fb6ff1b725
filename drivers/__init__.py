"""Where telemetry comes from: devices, serial lines, recordings played again, and the simulated plant."""
