.PHONY: setup run test bench
setup run test bench:
	@python3 dev.py $@
