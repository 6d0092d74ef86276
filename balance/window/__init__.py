"""The live window (PySide6 + pyqtgraph): thin, it finds nothing itself."""
