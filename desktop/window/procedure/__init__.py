"""The procedure of a charge beside the window."""

from desktop.window.procedure.keeping import renew_procedure, show_procedure

__all__ = ["renew_procedure", "show_procedure"]
