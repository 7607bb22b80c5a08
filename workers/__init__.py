"""What the computing is made of: pure stages over shared values, and the service floors above them."""
