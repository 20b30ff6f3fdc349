"""The chart on the wall: every recipe of a palette on sheets of paper.

layout      what stands where on each sheet, in millimetres
forms       the sheets as HTML, PNG or PDF
"""

from tuimatch.chart.layout import PAPERS, Order, Sheet, sheets

__all__ = ["PAPERS", "Order", "Sheet", "sheets"]
