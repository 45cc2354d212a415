"""Sampled signals as recorders write them, by name: text, Universal File Format 58, MAT, HDF5.

tracks        The signals of a file by name, their sampling frequency, and what is refused
text_signals  Text files: heads above the samples, any separator, decimal commas, any common encoding
uff58         Universal File Format, dataset 58 and 58b: a function at a degree of freedom
mat_signals   MAT files up to version 7, whose compressed parts are measured before they are read
hdf5_signals  HDF5 files, MAT files of version 7.3 among them; h5py is wanted for these alone
recording_setup  What each recording holds that comes into a folder which is watched at the shaker

Dataset 58 is read by a small reader of our own: it is eleven lines and a block of numbers, and nothing is wanted of the
format's other datasets. HDF5 wants its library; links out of the file, and filters that would load programs, are
refused.
"""
