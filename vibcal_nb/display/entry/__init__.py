"""What the screen at the shaker says and draws, as HTML and SVG that it puts in place.

step_words      What is to be set and read next, in large type
answer_words    What a reading says: within or without, how far, and what its test would be judged now
sketch          Where a reading stands among the others so far: each as a departure from nominal
coming_off      Whether a sensor may come off: what is missing, about how long it takes, what to measure next
waveform_sketch  A recording in small: some cycles of reference and output
help_drawings   Drawings of how a sensor is put on a shaker
help_pages      Help at hand: mounting, cable, torque, warm-up, payload, what to do when it does not settle
hand_over       The visit as it stands on one page, for the colleague who goes on

The sketch and the drawings change with every reading or belong to the screen alone, and so they are written as SVG
here; a result's own figure is drawn by matplotlib, as everywhere.
"""
