"""Packets, by what somebody does with them; ``packets_wiring`` joins the parts.

A teacher hands a piece out (``handing_out``), a student sends back how it stands
(``sending_back``); both are written by ``writing``. What comes as a file is opened (``opening``): a
lesson is taken in (``taking_in``), results are received (``receiving``) and stand in the studio
(``studio``).
"""
