; A boot sector that shows one text screen after another, each after a key: first (0) what the firmware itself left
; there, then (1) every code of the character set, then screens full of digits and the signs around them, even ones with
; 25 rows, odd ones with 50.
; How many were drawn stands at 0000:0500h, so that a capture knows when one is complete.
bits 16
org 7C00h
start:
    xor ax, ax
    mov ds, ax
    mov ss, ax
    mov sp, 7C00h
    mov byte [500h], 1
    jmp key
next:
    mov ax, 0003h               ; 80 x 25
    int 10h
    mov cx, 2000
    cmp byte [500h], 1
    je sized
    test byte [500h], 1
    jz sized
    mov ax, 1112h               ; glyphs of 8 lines: 80 x 50
    xor bx, bx
    int 10h
    mov cx, 4000
sized:
    push cx
    mov ah, 1                   ; no cursor
    mov cx, 2000h
    int 10h
    pop cx
    mov ax, 0B800h
    mov es, ax
    xor di, di
fill:
    mov eax, [seed]
    imul eax, eax, 1103515245
    add eax, 12345
    mov [seed], eax
    shr eax, 16
    mov bx, ax
    and bx, 31
    mov al, [signs + bx]
    cmp byte [500h], 1
    jne drawn
    mov ax, di
    shr ax, 1
drawn:
    mov ah, 07h
    stosw
    loop fill
    inc byte [500h]
key:
    xor ax, ax
    int 16h
    jmp next
seed: dd 1997
signs: db "012345678901234567890123 .:,-hKM"
    times 510 - ($ - $$) db 0
    dw 0AA55h
