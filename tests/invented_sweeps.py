"""Invented sweeps in files of odd layouts, for tests of importing."""

from datetime import datetime, timedelta
from pathlib import Path

import numpy as np
import openpyxl

VOLTAGE = np.round(np.linspace(0.0, 708.0, 60), 3)


def current(scale: float = 1.0) -> np.ndarray:
    return np.round(scale * 9.0 * (1.0 - np.exp((VOLTAGE - 708.0) / 40.0)), 4)


def semicolon_file(path: Path, scale: float = 1.0, moment: str = "17.05.2024 10:15:30") -> Path:
    """Semicolons, decimal commas, words of another language above the table."""
    points = zip(VOLTAGE, current(scale), strict=True)
    rows = "".join(f"{v:.3f};{i:.4f}\n" for v, i in points).replace(".", ",")
    head = f"Einstrahlung (W/m²);812,5\nModultemperatur (°C);45,3\nZeitstempel;{moment}\n\n"
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(head + "Spannung (V);Strom (A)\n" + rows, encoding="utf-8")
    return path


def wide_file(path: Path, names: tuple[str, ...] = ("S1", "S2", "S3")) -> Path:
    """One voltage and a current beside it for each string."""
    columns = [current(1.0 - 0.05 * number) for number in range(len(names))]
    lines = ["Voltage (V)," + ",".join(f"Current {name} (A)" for name in names)]
    for row, v in enumerate(VOLTAGE):
        lines.append(f"{v:.3f}," + ",".join(f"{one[row]:.4f}" for one in columns))
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")
    return path


def workbook_file(path: Path, sheets: tuple[str, ...] = ("S1", "S2")) -> Path:
    """A sheet for each string, millivolts, and key lines above."""
    book = openpyxl.Workbook()
    book.remove(book.active)
    for number, name in enumerate(sheets):
        sheet = book.create_sheet(name)
        sheet.append(["Irradiance (W/m²)", 800 + number])
        sheet.append([])
        sheet.append(["U (mV)", "I (A)"])
        for v, i in zip(VOLTAGE, current(1.0 - 0.1 * number), strict=True):
            sheet.append([float(v) * 1000.0, float(i)])
    path.parent.mkdir(parents=True, exist_ok=True)
    book.save(path)
    return path


def unnamed_file(path: Path) -> Path:
    """Two columns that no heading names, between others of text."""
    points = zip(VOLTAGE, current(), strict=True)
    rows = "".join(f"p{n};{i:.4f};{v:.3f}\n" for n, (v, i) in enumerate(points))
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text("point;left;right\n" + rows.replace(".", ","), encoding="utf-8")
    return path


def log_file(path: Path, start: datetime = datetime(2024, 5, 17, 10, 0)) -> Path:
    """A reading a minute for an hour."""
    rows = "".join(
        f"{start + timedelta(minutes=n):%Y-%m-%d %H:%M:%S},{700 + n},{20 + n / 10:.1f}\n"
        for n in range(61)
    )
    path.write_text("timestamp,poa_global,temperature_air\n" + rows, encoding="utf-8")
    return path
