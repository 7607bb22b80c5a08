"""The Tern Quay order: an invented boatyard's name board, drawn for the demo, photographed by simulation.

``order.yaml`` is the request, ``tern-1.jpg`` and ``tern-2.jpg`` two simulated phone
photos of one sheet, ``tern.svg`` the drawing they show. All of it is this project's own.
"""

from pathlib import Path

ORDER = Path(__file__).parent / "order.yaml"
