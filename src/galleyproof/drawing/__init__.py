"""Sheets: what is drawn as placed symbols, polylines and texts, and the writers of SVG and DXF.

``sheets.draw_sheets`` makes a Drawing from a job and its design; ``svg`` and ``dxf`` write it down. The model knows
nothing of either, and the writers know nothing of wiring.
"""
