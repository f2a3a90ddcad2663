"""The local web app: one page for one session, a documented JSON route for every action, long work in workers."""
