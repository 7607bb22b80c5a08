"""Numbers, parameters, expressions and functions of RS-274.

Source: NISTIR 6556, sections 3.3.2.1 to 3.3.2.4, restated.
"""

from __future__ import annotations

import math
import operator
import re
from collections.abc import Callable

from workers.interpretation.fault import Fault
from workers.interpretation.limits import DEEPEST_BRACKETS, LARGEST_NUMBER

LARGEST_PARAMETER = 5399
INTEGER_SLACK = 0.0001  # how far a number may be from the integer it stands for
_NUMBER = re.compile(r"[+-]?(?:[0-9]+\.?[0-9]*|\.[0-9]+)")
_FUNCTION = re.compile(r"abs|acos|asin|atan|cos|exp|fix|fup|ln|round|sin|sqrt|tan")
_OPERATORS = (re.compile(r"\+|-|or|xor|and"), re.compile(r"\*(?!\*)|/|mod"), re.compile(r"\*\*"))


def _round_half_away(value: float) -> float:
    return float(math.floor(value + 0.5) if value >= 0 else math.ceil(value - 0.5))


_FUNCTIONS: dict[str, Callable[[float], float]] = {
    "abs": abs,
    "acos": lambda value: math.degrees(math.acos(value)),
    "asin": lambda value: math.degrees(math.asin(value)),
    "cos": lambda value: math.cos(math.radians(value)),
    "exp": math.exp,
    "fix": lambda value: float(math.floor(value)),
    "fup": lambda value: float(math.ceil(value)),
    "ln": math.log,
    "round": _round_half_away,
    "sin": lambda value: math.sin(math.radians(value)),
    "sqrt": math.sqrt,
    "tan": lambda value: math.tan(math.radians(value)),
}


def _modulo(left: float, right: float) -> float:
    remainder = math.fmod(left, right)
    return remainder + abs(right) if remainder < 0 else remainder


_OPERATIONS: dict[str, Callable[[float, float], float]] = {
    "+": operator.add,
    "-": operator.sub,
    "*": operator.mul,
    "/": operator.truediv,
    "**": math.pow,
    "mod": _modulo,
    "or": lambda left, right: float(left != 0 or right != 0),
    "xor": lambda left, right: float((left != 0) != (right != 0)),
    "and": lambda left, right: float(left != 0 and right != 0),
}


class ValueReader:
    """Reads values from one line: lower case, without white space.

    Args:
        text: The line, closed up.
        parameters: Values of ``#1`` to ``#5399`` that the program has set so far.
        remark: Told what a careful reader notices.
    """

    def __init__(self, text: str, parameters: dict[int, float], remark: Callable[[str], None]) -> None:
        self.text = text
        self.at = 0
        self._brackets = 0
        self._parameters = parameters
        self._remark = remark

    def value(self) -> float:
        """Return the number, parameter, function or bracketed expression that stands here."""
        start = self.text[self.at : self.at + 1]
        if start == "[":
            return self._expression()
        if start == "#":
            self.at += 1
            self._go_deeper()
            index = self.integer("a parameter's number")
            self._brackets -= 1
            return self._parameter(index)
        number = _NUMBER.match(self.text, self.at)
        if number:
            self.at = number.end()
            value = float(number[0])
            if abs(value) > LARGEST_NUMBER:
                raise Fault(f"{value:g} is more than any machine can use", "check the number")
            return value
        function = _FUNCTION.match(self.text, self.at)
        if function:
            self.at = function.end()
            return self._function(function[0])
        raise Fault(f"no number where one belongs, before '{self.text[self.at :][:8]}'", "write a number")

    def integer(self, what: str) -> int:
        """Return the value that stands here, which must be whole to within 0.0001."""
        value = self.value()
        nearest = round(value)
        if abs(value - nearest) > INTEGER_SLACK:
            raise Fault(f"{what} is {value:g}, not a whole number", "write a whole number")
        return nearest

    def _parameter(self, index: int) -> float:
        if not 1 <= index <= LARGEST_PARAMETER:
            raise Fault(f"there is no parameter #{index}", f"use #1 to #{LARGEST_PARAMETER}")
        if index not in self._parameters:
            self._remark(f"reads parameter #{index}, which the program has not set; 0 was taken")
        return self._parameters.get(index, 0.0)

    def _expression(self) -> float:
        self._expect("[")
        self._go_deeper()
        value = self._level(0)
        self._brackets -= 1
        self._expect("]")
        return value

    def _go_deeper(self) -> None:
        self._brackets += 1
        if self._brackets > DEEPEST_BRACKETS:
            raise Fault(f"more than {DEEPEST_BRACKETS} deep in brackets or #", "spread it over several lines")

    def _level(self, level: int) -> float:
        """Operators of equal rank go from left to right, also powers."""
        if level == len(_OPERATORS):
            return self.value()
        left = self._level(level + 1)
        while found := _OPERATORS[level].match(self.text, self.at):
            self.at = found.end()
            left = _computed(_OPERATIONS[found[0]], left, self._level(level + 1))
        return left

    def _function(self, name: str) -> float:
        argument = self._expression()
        if name != "atan":
            return _computed(_FUNCTIONS[name], argument)
        self._expect("/")
        return math.degrees(math.atan2(argument, self._expression()))

    def _expect(self, mark: str) -> None:
        if self.text[self.at : self.at + 1] != mark:
            raise Fault(f"'{mark}' is missing in an expression", f"add the '{mark}'")
        self.at += 1


def _computed(operation: Callable[..., float], *operands: float) -> float:
    try:
        result = operation(*operands)
    except (ValueError, ZeroDivisionError, OverflowError):
        result = math.inf
    if not abs(result) <= LARGEST_NUMBER:  # nor is it a number
        shown = " and ".join(f"{operand:g}" for operand in operands)
        raise Fault(f"arithmetic on {shown} has no result that a machine can use", "correct the expression")
    return result
