"""Loading this module loads all that a page needs: done once, in the process from which page kernels are forked."""

import ipykernel.debugger
import ipykernel.ipkernel
import ipykernel.kernelapp  # noqa: F401

from .ready import load_all

load_all()
