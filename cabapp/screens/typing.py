"""What is being typed on the keypad: pure, one key at a time.

Inches take fractions by their own keys; the unit stands beside the figure from the start, and
changing it never changes the figure.
"""

from dataclasses import dataclass, replace

FRACTIONS = ("1/4", "1/2", "3/4")
LONGEST = 9


@dataclass(frozen=True)
class Typed:
    """A figure on its way: digits, a fraction, a sign, and the unit it is typed in."""

    digits: str = ""
    fraction: str = ""
    minus: bool = False
    unit: str = ""

    @property
    def text(self) -> str:
        """The figure as it reads, "" while nothing was typed."""
        sign = "-" if self.minus and (self.digits or self.fraction) else ""
        return sign + " ".join(part for part in (self.digits, self.fraction) if part)

    @property
    def empty(self) -> bool:
        """Whether nothing was typed yet."""
        return not self.text

    def press(self, key: str) -> "Typed":
        """The figure after one key: a digit, ".", a fraction, "-", "back"."""
        if key == "back":
            return self._back()
        if key == "-":
            return replace(self, minus=not self.minus)
        if key in FRACTIONS:
            return self if "." in self.digits else replace(self, fraction=key)
        if key == ".":
            if self.fraction or "." in self.digits:
                return self
            return replace(self, digits=(self.digits or "0") + ".")
        if len(self.digits) >= LONGEST or self.fraction:
            return self
        return replace(self, digits=(self.digits.lstrip("0") if self.digits == "0" else self.digits)
                       + key)  # fmt: skip

    def _back(self) -> "Typed":
        if self.fraction:
            return replace(self, fraction="")
        if self.digits:
            return replace(self, digits=self.digits[:-1])
        return replace(self, minus=False)
