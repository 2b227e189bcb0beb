"""The calculators of the workbench: typed figures in, an estimate with its sources out."""
