"""A report as PDF: the only part of the report that uses Qt."""

from desktop.report.pdf.writing import report_pdf, write_pdf

__all__ = ["report_pdf", "write_pdf"]
