"""The rules of the trade, each in one place: pure functions over the values of the records.

Which tries count (`tries`), which are taken together (`pooled`), what a visit and a unit come to (`totals`), whether a
result still holds after what was treated since (`treated`), rest and second test (`rest`), the limits in force
(`limits`), what may be claimed of a unit (`claims`), and its grade (`grade`). Whoever needs a rule asks here;
docs/decisions/which-try-counts.md says why they are so.
"""
