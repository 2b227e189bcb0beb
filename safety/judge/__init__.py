"""Readings and limits to findings: the heart of the product.

``read_batch`` turns a document in the open format into a batch, ``judge_batch`` judges
it, ``write_batch`` writes a batch back; ``read_product`` reads a product alone. No clock, no database, no files.
"""

from safety.judge.document import read_batch, read_product
from safety.judge.export import batch_file, write_batch
from safety.judge.judging import judge_batch

__all__ = ["batch_file", "judge_batch", "read_batch", "read_product", "write_batch"]
