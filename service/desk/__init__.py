"""What the operator, the field officer and the admin do at their desk; no web in it.

One class a job. Everything it needs is handed in; each method takes the account that acts and the
moment, checks the role, writes one line of the log for whatever it shows or changes of a caller,
and refuses with a `DeskRefused` that says in words what to do.
"""

from service.desk.office import Office
from service.desk.refusals import DeskRefused

__all__ = ["DeskRefused", "Office"]
