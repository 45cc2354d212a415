"""Warm processes in which notebooks are executed.

cells             What a forked process does that executes the cells of one notebook: IPython's shell
execute_notebook  The one way in which this package calls papermill: forked processes where they can be had
papermill_engine  papermill's engine for records: the cells are executed in a process forked from the template of
provisioner       Kernels that start in a few milliseconds, forked from a process which has this package's imports
template_client   The parent's side of warm kernels: start the template process, ask it for kernels, hold on to them
template_server   The process that warm kernels are forked from: it has the imports loaded, and does nothing else

A record is executed in a process forked from a template that has the imports loaded, by an engine of papermill: the
same IPython shell, compiler, formatters and language information as in a kernel, but one socket and one message a cell.
Where nothing can be forked it is an ordinary kernel; the tests compare outputs, errors and whole records of both. What
the engine leaves out: widgets, input, changing an output that is shown, and what subprocesses write to the terminal
themselves. The provisioner gives JupyterLab and plain papermill warm kernels.

The template stays single-threaded and says which import is in the way. A kernel is the template's child, watched and
signalled by a process file descriptor, and killed by the operating system with its template, which ends with its
runner. One template belongs to one environment and one state of the package's sources. The handler of SIGCHLD and the
loop may both wait for the same kernel; either must survive that the other was first.
"""
