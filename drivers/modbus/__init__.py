"""Modbus: reading holding and input registers over TCP, RTU and RTU over TCP. Nothing is ever written."""
