"""What keeps a paper's key secret and its marks checkable. Standard library only.

Seeds, the instructor's folder, sealed keys, the mark log, its purge, receipts, and the scan of a
learner's bundle. What all this does not prove stands in `limits`.
"""
