; A floppy that tells over the serial port what a bench dump would: flag bits, identification leaves, 128 bytes of
; clock RAM, the PCI headers of bus 0 in the form lspci -F takes. Then it writes 01 05 5A to port 80h.
bits 16
org 0x7c00
    jmp 0:start
start:
    cli
    xor ax, ax
    mov ds, ax
    mov es, ax
    mov ss, ax
    mov sp, 0x7a00
    sti
    mov ax, 0x0204          ; four more sectors
    mov bx, 0x7e00
    mov cx, 0x0002
    xor dh, dh
    int 0x13
    jmp main
    times 510-($-$$) db 0
    dw 0xaa55

main:
    mov dx, 0x3fb
    mov al, 3
    out dx, al
    mov si, text_flags
    call puts
    pushfd
    pop eax
    mov ecx, eax
    xor eax, 0x00240000
    push eax
    popfd
    pushfd
    pop eax
    xor eax, ecx
    and eax, 0x00240000
    mov ebx, eax
    push ecx
    popfd
    mov eax, ebx
    call hex8
    call line
    test ebx, 0x00200000
    jz no_id
    xor eax, eax
    call leaf
    mov eax, 1
    call leaf
    mov eax, 2
    call leaf
no_id:
    xor cx, cx
cmos_row:
    mov si, text_cmos
    call puts
    mov al, cl
    call hex2
    mov al, ':'
    call putc
cmos_byte:
    mov al, ' '
    call putc
    mov al, cl
    out 0x70, al
    in al, 0x71
    call hex2
    inc cl
    test cl, 15
    jnz cmos_byte
    call line
    cmp cl, 128
    jne cmos_row
    xor edi, edi            ; device and function << 8
pci_next:
    mov eax, 0x80000000
    or eax, edi
    call pci_read
    cmp ax, 0xffff
    je pci_skip
    mov si, text_slot
    call puts
    mov eax, edi
    shr eax, 11
    call hex2
    mov al, '.'
    call putc
    mov eax, edi
    shr eax, 8
    and al, 7
    add al, '0'
    call putc
    mov si, text_dump
    call puts
    xor bx, bx
pci_row:
    mov al, bl
    call hex2
    mov al, ':'
    call putc
pci_dword:
    mov eax, 0x80000000
    or eax, edi
    or al, bl
    call pci_read
    mov cx, 4
pci_byte:
    push eax
    mov al, ' '
    call putc
    pop eax
    push eax
    call hex2
    pop eax
    shr eax, 8
    loop pci_byte
    add bl, 4
    test bl, 15
    jnz pci_dword
    call line
    cmp bl, 64
    jne pci_row
    call line
pci_skip:
    add edi, 0x100
    cmp edi, 0x10000
    jne pci_next
    mov al, 0x01
    out 0x80, al
    mov al, 0x05
    out 0x80, al
    mov al, 0x5a
    out 0x80, al
    mov si, text_end
    call puts
stop:
    hlt
    jmp stop

leaf:                       ; prints number and EAX EBX ECX EDX
    push eax
    mov si, text_cpuid
    call puts
    pop eax
    push eax
    call hex8
    pop eax
    cpuid
    push edx
    push ecx
    push ebx
    push eax
    mov cx, 4
leaf_reg:
    mov al, ' '
    call putc
    pop eax
    push cx
    call hex8
    pop cx
    loop leaf_reg
    jmp line

pci_read:
    push dx
    mov dx, 0xcf8
    out dx, eax
    mov dx, 0xcfc
    in eax, dx
    pop dx
    ret

hex8:
    push eax
    shr eax, 16
    call hex4
    pop eax
hex4:
    push ax
    mov al, ah
    call hex2
    pop ax
hex2:
    push ax
    shr al, 4
    call nibble
    pop ax
nibble:
    and al, 15
    add al, '0'
    cmp al, '9'
    jbe putc
    add al, 7
putc:
    push dx
    push ax
    mov dx, 0x3fd
wait_free:
    in al, dx
    test al, 0x20
    jz wait_free
    pop ax
    mov dx, 0x3f8
    out dx, al
    pop dx
    ret
puts:
    lodsb
    test al, al
    jz done
    call putc
    jmp puts
line:
    mov al, 10
    call putc
done:
    ret

text_flags db "FLAGS-TOGGLE ", 0
text_cpuid db "CPUID ", 0
text_cmos db "CMOS ", 0
text_slot db "00:", 0
text_dump db " dump", 10, 0
text_end db "END", 10, 0
    times 2560-($-$$) db 0
