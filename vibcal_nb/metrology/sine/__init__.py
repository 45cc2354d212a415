"""Sines in sampled signals.

IEEE Std 1057-2017   three- and four-parameter fits            sine_fit.fit_sine_three, sine_fit.fit_sine_four
ISO 16063-11         the same least squares                    sine_fit
closed forms         harmonics, mains, flattened peaks         distortion.assess_distortion
closed forms         what harmonics do to a detector           detectors.rms_error, detectors.peak_error
Harris 1978          amplitudes over frequency, Hann           spectrum.amplitude_spectrum
any textbook         a line through phases over frequency      phase_line.fit_phase_line

tones      an offset and tones of known frequency, block by block, for records that lie on disk
"""
