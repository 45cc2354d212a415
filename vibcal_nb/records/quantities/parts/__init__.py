"""What several kinds of result have within them, as quantities.

phase_quantities  Phases as quantities, within a band response and a sensor alone
"""
