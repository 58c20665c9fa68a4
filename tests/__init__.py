"""The tests, floor by floor; `tests.checks` is what is compared with the outside world."""
