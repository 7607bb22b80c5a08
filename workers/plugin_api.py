"""The one module that authors of plug-ins import: values, protocols and errors, nothing else.

Within one PLUGIN_API there are only additions, with defaults.
"""

from workers.contracts.dialect import Dialect, OneFileDialect
from workers.contracts.material_source import MaterialSource
from workers.contracts.strategy import Strategy
from workers.contracts.tracer import Tracer
from workers.errors import (
    ConversionError,
    DeviationNotMetError,
    InputRejectedError,
    NoDrawingFoundError,
    NotCuttableError,
    ParameterOutOfRangeError,
)
from workers.values.cutter import BallNose, Cutter, Drill, EndMill, KeyholeCutter, VeeCutter
from workers.values.cutting_plan import CutPath, CuttingPlan, Operation, OperationKind
from workers.values.cutting_task import CuttingTask, Ways
from workers.values.finding import Finding, Severity
from workers.values.image import InkCoverage
from workers.values.machine import Machine
from workers.values.material import CuttingData, Material
from workers.values.outlines import Outlines, Traced
from workers.values.progress import Reporter
from workers.values.region import Region

PLUGIN_API = 1

__all__ = [
    "PLUGIN_API",
    "BallNose",
    "ConversionError",
    "CutPath",
    "Cutter",
    "CuttingData",
    "CuttingPlan",
    "CuttingTask",
    "DeviationNotMetError",
    "Dialect",
    "Drill",
    "EndMill",
    "Finding",
    "InkCoverage",
    "InputRejectedError",
    "KeyholeCutter",
    "Machine",
    "Material",
    "MaterialSource",
    "NoDrawingFoundError",
    "NotCuttableError",
    "OneFileDialect",
    "Operation",
    "OperationKind",
    "Outlines",
    "ParameterOutOfRangeError",
    "Region",
    "Reporter",
    "Severity",
    "Strategy",
    "Traced",
    "Tracer",
    "VeeCutter",
    "Ways",
]
