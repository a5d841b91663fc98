"""A plan on paper: the drawing as SVG text, the installer's sheet as PDF bytes; no files."""

from service.drawing.plan_svg import plan_svg
from service.drawing.sheet import SheetError, SheetFonts, installer_sheet_pdf

__all__ = ["SheetError", "SheetFonts", "installer_sheet_pdf", "plan_svg"]
