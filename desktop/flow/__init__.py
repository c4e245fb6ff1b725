"""The equations: the network, conversion loss, reconciliation, and who feeds whom."""
