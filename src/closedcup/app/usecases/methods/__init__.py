"""Test methods: explained, chosen, confirmed against the own copy, calculated with."""
