"""The cage: processes that read strangers' files may compute and read program code, and nothing else.

``template`` is a process that has everything loaded and forks one caged process after the other; ``confinement`` shuts
a process in (Landlock, seccomp, limits, a user of its own); ``messages`` is how it is asked and answers, without an
object of its making ever being built here; ``caged`` is its side of that.
"""
