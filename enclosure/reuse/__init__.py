"""What an old shelter is still good for: keep, re-cut, spare; the rack; sizes as built."""
